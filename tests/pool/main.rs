//! Makes pools of simulated nurseries, and judges what is said of them. Run with
//! `cargo bench --bench pool_maker -- files DEST NURSERIES [SEASONS TAXA GROWN BATCHES]` or `… -- truth [POOLS]`, which
//! writes the table of tests/pool/README.md.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "maker.rs"]
mod pool_maker;
#[path = "truth.rs"]
mod pool_truth;

use pool_maker::PoolPlan;
use pool_truth::{Asked, Tally, plans, truth};
use std::fmt::Write as _;
use std::path::Path;

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|word| word != "--bench")
        .collect();
    let number =
        |at: usize, plain: usize| words.get(at).map_or(plain, |word| word.parse().unwrap());
    match words.first().map(String::as_str) {
        Some("files") => files(
            Path::new(&words[1]),
            &PoolPlan {
                nurseries: number(2, 200),
                seasons: number(3, 2),
                taxa: number(4, 6),
                grown: number(5, 3),
                batches: number(6, 3),
                wood_effect: 1.0,
                open: true,
                ..PoolPlan::default()
            },
        ),
        Some("truth") => table(number(1, 400)),
        _ => println!("say: files DEST NURSERIES [SEASONS TAXA GROWN BATCHES], or truth [POOLS]"),
    }
}

fn files(folder: &Path, plan: &PoolPlan) {
    let mut rows = 0;
    for nursery in 0..plan.nurseries {
        for part in plan.nursery(nursery) {
            rows += part.batches.iter().map(|it| it.2.len()).sum::<usize>();
            let file = part.file();
            let path = folder.join(&file.name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, file.bytes).unwrap();
        }
    }
    println!(
        "{} nurseries, {rows} interval rows in {}",
        plan.nurseries,
        folder.display()
    );
}

const BEGIN: &str = "<!-- truth, made by cargo bench --bench pool_maker -- truth -->";
const END: &str = "<!-- end of truth -->";

fn table(pools: usize) {
    let mut out = format!(
        "{BEGIN}\n| {pools} pools of | share: held, naive | days p10, p50, p90: held | naive | next batch: 50 %, 80 % held | alarms, naive |\n|---|---|---|---|---|---|\n"
    );
    for (name, plan) in plans() {
        let asked = Asked {
            resamples: 199,
            compares: false,
        };
        let found = truth(&plan, pools, asked);
        // Where wood stages do not differ, but nurseries that do better have more of one.
        let confounded = PoolPlan {
            wood_goes_with_nursery: true,
            ..plan
        };
        let compared = truth(
            &confounded,
            pools,
            Asked {
                resamples: 0,
                compares: true,
            },
        );
        let rate = |tally: &Tally| match tally.of {
            0 => "none".to_owned(),
            _ => format!("{:.1}", 100.0 * tally.rate()),
        };
        let rates = |tallies: &[Tally]| tallies.iter().map(rate).collect::<Vec<_>>().join(", ");
        let _ = writeln!(
            out,
            "| {name} | {}, {} | {} | {} | {} | {}, {} |",
            rate(&found.share),
            rate(&found.naive_share),
            rates(&found.days),
            rates(&found.naive_days),
            rates(&found.next),
            rate(&compared.alarms),
            rate(&compared.naive_alarms),
        );
        print!(
            "{}",
            out.lines()
                .last()
                .map(|line| format!("{line}\n"))
                .unwrap_or_default()
        );
    }
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/pool/README.md");
    let text = std::fs::read_to_string(&page).unwrap();
    let (from, to) = (text.find(BEGIN).unwrap(), text.find(END).unwrap());
    std::fs::write(page, format!("{}{out}{}", &text[..from], &text[to..])).unwrap();
}
