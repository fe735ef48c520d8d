//! Curves drawn in SVG by plotters, told apart by their strokes and a letter, never by colour. No text of the journal stands
//! in the drawing.

use super::html::escaped;
use crate::stats::npmle::Mass;
use plotters::prelude::*;

/// A curve of a share over days, from looks that lie days apart: between the days of a mass it rises evenly.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartCurve {
    /// What it is of, for the key below the drawing.
    pub name: String,
    /// Days since sticking and the share reached by then, 0 to 1.
    pub points: Vec<(f64, f64)>,
}

impl ChartCurve {
    /// The curve of an estimate up to a day.
    #[must_use]
    pub fn new(name: String, masses: &[Mass], until: f64) -> Self {
        let mut points = vec![(0.0, 0.0)];
        let mut sum = 0.0;
        for mass in masses {
            points.push((mass.after, sum));
            sum += mass.mass;
            points.push((mass.by, sum));
        }
        if points.last().is_some_and(|(day, _)| *day < until) {
            points.push((until, sum));
        }
        Self { name, points }
    }
}

/// Strokes: a dash and a gap in pixels, none for a whole line, and the line's width.
const STROKES: [(u32, u32, u32); 6] = [
    (0, 0, 2),
    (9, 5, 2),
    (2, 4, 2),
    (0, 0, 4),
    (16, 4, 2),
    (3, 9, 3),
];
/// The letters of curves.
const LETTERS: [char; 6] = ['A', 'B', 'C', 'D', 'E', 'F'];
const SIZE: (u32, u32) = (620, 360);
const FONT: (&str, i32) = ("sans-serif", 22);

/// The figure of some curves, six at most, with their key; nothing if there is none to draw.
#[must_use]
pub fn figure(title: &str, curves: &[ChartCurve]) -> String {
    let curves: Vec<&ChartCurve> = curves.iter().take(LETTERS.len()).collect();
    let last = curves.iter().flat_map(|curve| &curve.points);
    let last = last.map(|(day, _)| *day).fold(0.0, f64::max);
    if last <= 0.0 {
        return String::new();
    }
    let mut svg = String::new();
    // Drawn into a text, which cannot fail; a figure that did would be left out, its key still said.
    let _ = draw(&mut svg, &curves, last);
    let key: String = curves
        .iter()
        .zip(LETTERS)
        .map(|(curve, letter)| format!("<li>{letter} {}</li>", escaped(&curve.name)))
        .collect();
    let told: Vec<String> = curves
        .iter()
        .map(|curve| {
            let end = curve.points.last().map_or(0.0, |(_, share)| share * 100.0);
            format!("{}: {end:.0} % by day {last:.0}", curve.name)
        })
        .collect();
    let alt = escaped(&format!("{title}. {}", told.join("; ")));
    let svg = svg.replacen(
        "<svg ",
        &format!("<svg role=\"img\" aria-label=\"{alt}\" "),
        1,
    );
    format!(
        "<figure><figcaption>{}</figcaption>{svg}<ul class=\"key\">{key}</ul></figure>\n",
        escaped(title)
    )
}

type Drawn<'a> = Result<(), DrawingAreaErrorKind<<SVGBackend<'a> as DrawingBackend>::ErrorType>>;

fn draw<'a>(svg: &'a mut String, curves: &[&ChartCurve], last: f64) -> Drawn<'a> {
    let root = SVGBackend::with_string(svg, SIZE).into_drawing_area();
    let mut chart = ChartBuilder::on(&root)
        .margin(8)
        .margin_right(30)
        .x_label_area_size(56)
        .y_label_area_size(70)
        .build_cartesian_2d(0.0..last * 1.03, 0.0..100.0)?;
    chart
        .configure_mesh()
        .x_desc("days since sticking")
        .y_desc("% of those stuck")
        .x_labels(6)
        .y_labels(6)
        .x_label_formatter(&|day| format!("{day:.0}"))
        .y_label_formatter(&|share| format!("{share:.0}"))
        .bold_line_style(BLACK.mix(0.2))
        .light_line_style(TRANSPARENT)
        .axis_style(BLACK)
        .label_style(FONT)
        .axis_desc_style(FONT)
        .draw()?;
    for ((curve, (dash, gap, width)), letter) in curves.iter().zip(STROKES).zip(LETTERS) {
        let points: Vec<(f64, f64)> = curve
            .points
            .iter()
            .map(|(day, share)| (*day, share * 100.0))
            .collect();
        let style = BLACK.stroke_width(width);
        let end = points.last().copied().unwrap_or((0.0, 0.0));
        if dash == 0 {
            chart.draw_series(LineSeries::new(points, style))?;
        } else {
            chart.draw_series(DashedLineSeries::new(points, dash, gap, style))?;
        }
        chart.draw_series(std::iter::once(Text::new(letter.to_string(), end, FONT)))?;
    }
    root.present()
}
