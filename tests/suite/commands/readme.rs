//! The first page is true: what it shows of the program is what the program prints.

use super::run::{Home, samples};

/// Every block of the page that begins with a command line, as the command and what follows it.
fn shown() -> Vec<(String, String)> {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let blocks = page.split("```\n").skip(1).step_by(2);
    let commands = blocks.filter_map(|block| block.strip_prefix("$ struck "));
    commands
        .map(|block| {
            block
                .split_once('\n')
                .map(|(command, said)| (command.to_owned(), said.to_owned()))
                .unwrap()
        })
        .collect()
}

#[test]
fn what_it_shows_on_the_samples_is_what_is_printed() {
    let mut checked = 0;
    for (command, said) in shown() {
        let Some(rest) = command.strip_prefix("--journal sample-journals/") else {
            continue;
        };
        let (sample, rest) = rest.split_once(' ').unwrap();
        assert!(samples().join(sample).exists());
        let arguments: Vec<&str> = rest.split(' ').collect();
        let home = Home::with_sample(sample).at("2026-08-20T12:00:00+01:00");
        assert_eq!(home.struck(&arguments).done(), said, "struck {command}");
        checked += 1;
    }
    assert!(checked >= 3, "{checked} examples");
}

#[test]
fn the_first_entry_is_said_back_as_shown() {
    let (command, said) = shown()
        .into_iter()
        .find(|(command, _)| command.starts_with("add "))
        .unwrap();
    let line = command.split('"').nth(1).unwrap();
    let told = Home::new()
        .at("2026-06-01T09:10:00+01:00")
        .struck(&["add", line]);
    let without_id = |text: &str| text.split(", entry ").next().unwrap().to_owned();
    assert_eq!(without_id(&told.err), without_id(&said));
}

/// The screen of that size in a file of stored ones, its empty lines written out again.
fn screen_of(stored: &str, size: &str) -> String {
    let (_, from) = stored.split_once(&format!("== {size} ==\n")).unwrap();
    let own = |line: &&str| !line.starts_with("ASCII ") && !line.starts_with("== ");
    let lines = from.lines().take_while(own).map(|line| {
        let count = line
            .strip_prefix('(')
            .and_then(|line| line.strip_suffix(" empty lines)"));
        count.map_or_else(
            || line.to_owned(),
            |count| "\n".repeat(count.parse::<usize>().unwrap() - 1),
        )
    });
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn its_screens_are_the_stored_ones() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = std::fs::read_to_string(root.join("README.md")).unwrap();
    for (name, size) in [("bench", "80 x 24"), ("pad", "40 x 12")] {
        let path = root.join(format!(
            "tests/suite/screens/snapshots/suite__screens__stored__{name}.snap"
        ));
        let screen = screen_of(&std::fs::read_to_string(path).unwrap(), size);
        assert!(
            page.contains(screen.trim_end()),
            "README.md does not show the screen {name} as it is drawn:\n{screen}"
        );
    }
}
