//! What holds of every screen whatever it shows: it fits, nothing is drawn into half of a wide sign, colour says
//! nothing that a sign does not, and a terminal shows what was drawn.

use super::face::{Face, copied, journal, presses};
use super::gallery::SIZES;
use super::stored::{ANYWHERE, FURTHER, SCREENS};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::layout::Size;
use std::cell::RefCell;
use std::io::Write;
use std::rc::Rc;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;
use struck::tui::effect::Message;
use struck::tui::keys;
use struck::tui::keys::KeyPress;
use struck::tui::terminal::LeanBackend;
use struck::tui::view::view;
use unicode_width::UnicodeWidthStr;

/// Names with signs two columns wide and with signs of no width, invented, in every field that shows text.
const WIDE: &[&str] = &[
    "2026-05-10 stick 24 Camellia japonica '白玉椿の花束', softwood, at 温室/1, mist",
    "2026-05-12 stick 84 Hebe 'E\u{301}toile de\u{301} neige\u{301}', softwood, at 温室/2, mist",
    "2026-05-20 stick 120 Weigela florida '赤い夕日の長い長い名前の椿', softwood, at tunnel 二, frame",
    "2026-06-10 stick 40 Choisya ternata '星', softwood, at 温室/3, mist",
    "2026-06-07 look 26-001: callused 8, rooted 4, note 根が出た",
    "2026-06-07T08:10:00+02:00 climate 温室: air 24.5, rh 88, medium 21",
];

/// Sizes at which a wide sign does not come out even, besides the usual.
const ODD: [(u16, u16); 4] = [(39, 12), (41, 13), (53, 20), (81, 24)];

fn buffer(face: &Face) -> Buffer {
    let (columns, rows) = face.state.common.size;
    let mut terminal = Terminal::new(TestBackend::new(columns, rows)).unwrap();
    terminal.draw(|frame| view(&face.state, frame)).unwrap();
    terminal.backend().buffer().clone()
}

/// A row as a terminal shows it: what a wide sign covers is not there.
fn row(buffer: &Buffer, y: u16) -> String {
    let mut out = String::new();
    let mut x = 0;
    while x < buffer.area.width {
        let symbol = buffer[(x, y)].symbol();
        out.push_str(symbol);
        x += (symbol.width() as u16).max(1);
    }
    out
}

/// Where something stands in the second half of a wide sign.
fn halved(buffer: &Buffer) -> Option<(u16, u16)> {
    let area = buffer.area;
    let mut cells = (0..area.height).flat_map(|y| (1..area.width).map(move |x| (x, y)));
    cells.find(|(x, y)| {
        let covered = buffer[(x - 1, *y)].symbol().width() > 1;
        covered && !buffer[(*x, *y)].symbol().trim().is_empty()
    })
}

#[test]
fn half_a_wide_sign_is_found() {
    let mut planted = Buffer::empty(ratatui::layout::Rect::new(0, 0, 6, 2));
    planted.set_string(1, 1, "椿", ratatui::style::Style::new());
    assert_eq!(halved(&planted), None);
    planted.set_string(2, 1, "x", ratatui::style::Style::new());
    assert_eq!(halved(&planted), Some((2, 1)));
}

#[test]
fn nothing_is_drawn_into_half_of_a_wide_sign_and_every_line_fits() {
    let folder = journal(WIDE);
    for (name, keys) in ANYWHERE.iter().chain(FURTHER) {
        let mut face = Face::over(&copied(&folder), (80, 24), Charset::Utf8, Colours::None);
        face.keys(keys);
        for size in SIZES.into_iter().chain(ODD) {
            let buffer = buffer(face.resize(size));
            assert_eq!(halved(&buffer), None, "{name} {size:?}");
            for y in 0..size.1 {
                let shown = row(&buffer, y);
                assert_eq!(
                    shown.width(),
                    usize::from(size.0),
                    "{name} {size:?}: {shown}"
                );
            }
        }
    }
}

/// A terminal that reads what is written to it.
#[derive(Clone)]
struct Shown(Rc<RefCell<vt100::Parser>>);

impl Write for Shown {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.borrow_mut().process(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_terminal_shows_what_was_drawn_key_by_key() {
    let folder = journal(WIDE);
    for size in ODD {
        let (rows, columns) = (size.1.try_into().unwrap(), size.0.try_into().unwrap());
        let parser = vt100::Parser::new(rows, columns, 0);
        let shown = Shown(Rc::new(RefCell::new(parser)));
        let mut face = Face::over(&copied(&folder), size, Charset::Utf8, Colours::Sixteen);
        let room = Size {
            width: size.0,
            height: size.1,
        };
        let mut terminal = Terminal::new(LeanBackend::new(shown.clone(), room)).unwrap();
        for (name, keys) in ANYWHERE.iter().chain(FURTHER) {
            let back = std::iter::repeat_n(KeyPress::Esc, 4);
            for press in presses(keys).into_iter().chain(back) {
                face.happen(Message::Presses(vec![press]));
                terminal.draw(|frame| view(&face.state, frame)).unwrap();
                let buffer = buffer(&face);
                let parser = shown.0.borrow();
                for (line, y) in parser.screen().rows(0, size.0).zip(0..) {
                    let drawn = row(&buffer, y);
                    assert_eq!(line.trim_end(), drawn.trim_end(), "{name} {press} {size:?}");
                }
            }
        }
    }
}

#[test]
fn colour_says_nothing_that_a_sign_does_not() {
    for (name, lines, keys) in SCREENS {
        let mut face = Face::new(lines, (80, 24));
        face.keys(keys);
        let coloured = face.screen();
        assert_eq!(face.coloured(Colours::None).screen(), coloured, "{name}");
        assert_eq!(face.colours(), 1, "{name}: the terminal's own ink alone");
        let marked = *name != "bench" || coloured.contains("\n> 0");
        assert!(marked, "the chosen batch has no sign of its own");
    }
}

#[test]
fn the_hint_line_offers_whole_keys_of_the_table() {
    for (name, lines, keys) in SCREENS {
        let mut face = Face::new(lines, (80, 24));
        face.keys(keys);
        for size in SIZES.into_iter().chain(ODD) {
            let screen = face.resize(size).screen();
            let line = screen.lines().last().unwrap();
            // On narrow and on low screens who is entering stands at its end.
            let line = line.trim_end_matches(&face.state.common.by);
            let line = line.trim_end().trim_end_matches(" b").trim_end();
            let live = keys::live(face.state.top().context());
            let whole: Vec<String> = live
                .iter()
                .map(|row| format!("{} {}", row.presses[0], row.hint))
                .collect();
            assert!(!line.is_empty(), "{name} {size:?}: no hint\n{screen}");
            for hint in line.split("  ") {
                assert!(
                    whole.iter().any(|w| w == hint),
                    "{name} {size:?}: {hint:?} of {line:?}"
                );
            }
        }
    }
}
