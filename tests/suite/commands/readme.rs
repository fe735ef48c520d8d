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
    let quoted: Vec<&str> = command.split('"').skip(1).step_by(2).collect();
    let told = Home::new()
        .at("2026-06-29T09:00:00+01:00")
        .struck(&["add", "--at", quoted[0], quoted[1]]);
    // Where the journal lies and the entry's id differ from machine to machine.
    let begun = "A new journal is begun at ";
    let same = |text: &str| {
        let lines = text.lines().map(|line| match line.starts_with(begun) {
            true => begun,
            false => line.split(", entry ").next().unwrap_or_default(),
        });
        let lines: Vec<&str> = lines.collect();
        assert!(lines.contains(&begun), "{text}");
        lines.join("\n").trim().to_owned()
    };
    assert_eq!(same(&told.err), same(&said));
}

/// The table of old records that the page shows is understood as it says.
#[test]
fn the_old_records_are_understood_as_shown() {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let section = page.split_once("## Old records in").unwrap().1;
    let table = section.split("```\n").nth(1).unwrap();
    let home = Home::new();
    let path = home.path().join("old.csv");
    std::fs::write(&path, table).unwrap();
    let told = home.struck(&["import", path.to_str().unwrap()]);
    let (_, said) = shown()
        .into_iter()
        .find(|(command, _)| command == "import old.csv")
        .unwrap();
    assert_eq!(told.out, said);
}

/// A stored screen of that size, of those after a heading if one is named, with its empty lines.
fn stored(name: &str, heading: &str, size: &str) -> String {
    let path = format!(
        "{}/tests/suite/tui/snapshots/suite__tui__stored__{name}.snap",
        env!("CARGO_MANIFEST_DIR")
    );
    let text = std::fs::read_to_string(path).unwrap();
    let after = text.split_once(heading).unwrap().1;
    let after = after.split_once(&format!("== {size} ==\n")).unwrap().1;
    let mut out = String::new();
    for line in after.lines() {
        if line.starts_with("== ") || line.starts_with("ASCII ") || line.starts_with("#### ") {
            break;
        }
        let counted = line
            .strip_prefix('(')
            .and_then(|rest| rest.strip_suffix(" empty lines)"));
        match counted.and_then(|count| count.parse().ok()) {
            Some(count) => out.push_str(&"\n".repeat(count)),
            None => out.push_str(&format!("{line}\n")),
        }
    }
    out.trim_end().to_owned()
}

#[test]
fn its_screens_are_the_stored_ones() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = std::fs::read_to_string(root.join("README.md")).unwrap();
    for (name, heading, size) in [
        ("bench", "", "80 x 24"),
        ("pad", "", "40 x 12"),
        ("samples-arms", "#### nursery", "80 x 24"),
    ] {
        let screen = stored(name, heading, size);
        assert!(screen.lines().count() > 5, "{name}");
        assert!(
            page.contains(&screen),
            "README.md does not show the screen {name} as it is drawn:\n{screen}"
        );
    }
}

/// The first steps, done as written, give the figures that the page shows.
#[test]
fn the_first_steps_give_the_figures_shown() {
    let page = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let steps = page.split_once("## A first five minutes").unwrap().1;
    let steps = steps.split_once("## At the bench").unwrap().0;
    let home = Home::new().at("2026-06-29T09:00:00+01:00");
    let mut entered = 0;
    for line in steps.lines() {
        let line = line.trim_start_matches("$ ");
        let Some(rest) = line.strip_prefix("struck add ") else {
            continue;
        };
        let quoted: Vec<&str> = rest.split('"').skip(1).step_by(2).collect();
        let said = match quoted.as_slice() {
            [at, line] => home.struck(&["add", "--at", at, line]),
            [line] => home.struck(&["add", line]),
            _ => panic!("{rest}"),
        };
        assert_eq!(said.code, 0, "{line}: {}", said.err);
        entered += 1;
    }
    assert_eq!(entered, 7);
    let figures = home.struck(&["timeline", "weigela"]).done();
    assert!(steps.contains(&figures), "{figures}");
}

/// The contributors' page is short, and every path that it names is there.
#[test]
fn the_page_for_contributors_is_short_and_names_what_is_there() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = std::fs::read_to_string(root.join("DEVELOPERS.md")).unwrap();
    assert!(page.len() <= 12_000, "{} bytes", page.len());
    let is_path = |word: &&str| {
        ["src/", "tests/", "sample-journals/", ".ci/"]
            .iter()
            .any(|room| word.starts_with(room))
    };
    let named: Vec<&str> = page
        .split(['`', '(', ')', ' ', '\n'])
        .filter(is_path)
        .collect();
    assert!(named.len() > 40, "{named:?}");
    for path in named {
        assert!(
            root.join(path).exists(),
            "DEVELOPERS.md names {path}, which is not there"
        );
    }
}
