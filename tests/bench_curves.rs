//! Times the estimate of curves from interval-censored rows; it prints and asserts nothing.
//! Run with `cargo bench --bench bench_curves`.

use std::time::Instant;
use struck::stats::npmle::{Row, estimate};

/// A small fixed generator (splitmix64), so that every run times the same rows.
struct Draws(u64);

impl Draws {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A unit looked at from a random day on, every so often, until a last look.
    fn row(&mut self, shape: &Shape) -> Row {
        let lost = self.unit() < shape.lost;
        let event = -30.0 * self.unit().ln();
        let last = 20.0 + 80.0 * self.unit();
        let step = shape.between * (0.5 + self.unit());
        let mut left = 0.0;
        loop {
            let right = left + step * (0.5 + self.unit());
            let right = if shape.whole_days {
                right.ceil()
            } else {
                right
            };
            if right > last {
                return Row::not_yet(left, 1.0);
            }
            if event <= right && right > left {
                return match lost {
                    true => Row::lost(left, right, 1.0),
                    false => Row::reached(left, right, 1.0),
                };
            }
            left = right;
        }
    }
}

struct Shape {
    name: &'static str,
    lost: f64,
    between: f64,
    whole_days: bool,
}

const SHAPES: [Shape; 6] = [
    Shape {
        name: "wide",
        lost: 0.0,
        between: 20.0,
        whole_days: false,
    },
    Shape {
        name: "wide, losses",
        lost: 0.3,
        between: 20.0,
        whole_days: false,
    },
    Shape {
        name: "narrow",
        lost: 0.0,
        between: 1.0,
        whole_days: false,
    },
    Shape {
        name: "narrow, losses",
        lost: 0.3,
        between: 1.0,
        whole_days: false,
    },
    Shape {
        name: "days, losses",
        lost: 0.3,
        between: 7.0,
        whole_days: true,
    },
    Shape {
        name: "few looks, losses",
        lost: 0.3,
        between: 60.0,
        whole_days: false,
    },
];

fn main() {
    println!("rows      rows of                 median ms  iterations   cells        gap");
    for size in [100, 1_000, 10_000] {
        for shape in &SHAPES {
            let mut draws = Draws(size as u64);
            let rows: Vec<Row> = (0..size).map(|_| draws.row(shape)).collect();
            let Some(found) = estimate(&rows) else {
                continue;
            };
            let mut times: Vec<f64> = (0..if size > 1_000 { 5 } else { 51 })
                .map(|_| {
                    let start = Instant::now();
                    std::hint::black_box(estimate(&rows));
                    start.elapsed().as_secs_f64() * 1e3
                })
                .collect();
            times.sort_by(f64::total_cmp);
            let cells = found.curve.len() + found.lost.len();
            println!(
                "{size:>6}    {:<20} {:>12.3} {:>11} {cells:>7} {:>10.1e}",
                shape.name,
                times[times.len() / 2],
                found.iterations,
                found.gap
            );
        }
    }
}
