//! `print`: what stands on each page, that nothing of the journal is markup there, and that no page asks for anything.

use super::run::{Home, NURSERY_NOW, nursery};
use std::collections::BTreeSet;
use std::fs;

/// Texts that would be markup, an address, a property or an order anywhere else.
const HOSTILE: [&str; 6] = [
    "<script>alert(1)</script>",
    "\"><img src=http://example.org/x onerror=alert(1)>",
    "a & b &lt; c 'd'",
    "line\r\nEND:VEVENT\r\nBEGIN:VEVENT",
    "back\\slash; semi, comma",
    "right \u{202e}to left\u{0007}",
];

/// A journal whose every free text is hostile.
fn hostile() -> Home {
    let home = Home::new().at(NURSERY_NOW);
    fs::create_dir_all(home.journal()).unwrap();
    let mut lines = String::new();
    for (at, text) in HOSTILE.iter().enumerate() {
        let line = serde_json::json!({
            "v": 1, "id": format!("H{at}"), "at": "2026-07-20", "kind": "stick", "batch": format!("{at}{text}"), "taxon": text, "stuck": 24,
            "medium": text, "place": text, "source": text, "trial": text, "arm": text, "note": text, "by": text,
            "hormone": { "active": text, "ppm": 3000 },
        });
        lines.push_str(&format!("{line}\n"));
        let look = serde_json::json!({
            "v": 1, "id": format!("L{at}"), "at": "2026-08-10", "kind": "look", "batch": format!("{at}{text}"), "stick": format!("H{at}"),
            "how": "lift", "rooted": 5, "note": text,
        });
        lines.push_str(&format!("{look}\n"));
    }
    fs::write(home.journal().join("h.jsonl"), lines).unwrap();
    home
}

/// Every page that there is.
const PAGES: [&[&str]; 6] = [
    &["labels"],
    &["labels", "--size", "60x30mm"],
    &["looks"],
    &["sticking"],
    &["season"],
    &["looks", "--paper", "letter"],
];

/// The text of a page without its marks and its style.
fn text(page: &str) -> String {
    let body = page.split_once("<body>").unwrap().1;
    let mut out = String::new();
    let mut inside = false;
    for c in body.chars() {
        match c {
            '<' => {
                inside = true;
                out.push('\n');
            }
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    let lines = out.lines().map(str::trim).filter(|line| !line.is_empty());
    let text = lines.collect::<Vec<_>>().join("\n");
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&")
}

/// The names of all elements, and of all their attributes.
fn markup(page: &str) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for tag in page.split('<').skip(1) {
        let tag = tag.split('>').next().unwrap();
        out.insert(tag.split([' ', '\n', '/']).next().unwrap().to_lowercase());
        let mut quoted = tag.split('"').step_by(2);
        let attributes = quoted
            .by_ref()
            .flat_map(|part| part.split_whitespace().filter(|word| word.ends_with('=')));
        out.extend(
            attributes.map(|word| format!("{}=", word.trim_end_matches('=').to_lowercase())),
        );
    }
    out
}

#[test]
fn nothing_of_a_hostile_journal_is_markup_and_no_page_asks_for_anything() {
    let (mild, hostile) = (nursery(), hostile());
    for asked in PAGES.iter().chain([&["taxon", "script"][..]].iter()) {
        let words: Vec<&str> = ["print"].into_iter().chain(asked.iter().copied()).collect();
        let said = hostile.struck(&words);
        assert_eq!(said.code, 0, "{asked:?}: {}", said.err);
        let page = said.out;
        let plain: Vec<&str> = words
            .iter()
            .map(|word| if *word == "script" { "weigela" } else { word })
            .collect();
        let mild_page = mild.struck(&plain).done();
        // The one address is the name of the language of drawings.
        assert!(
            !mild_page
                .replace("http://www.w3.org/2000/svg", "")
                .contains("://"),
            "{asked:?}"
        );
        let known = markup(&mild_page);
        let new: Vec<String> = markup(&page).difference(&known).cloned().collect();
        assert!(new.is_empty(), "{asked:?}: {new:?}");
        for word in [
            "<script", "<img", "<link", "<iframe", "url(", "@import", "href=",
        ] {
            assert!(!page.to_lowercase().contains(word), "{asked:?}: {word}");
        }
        assert!(page.contains("default-src 'none'"), "{asked:?}");
        assert!(
            !page.chars().any(|c| c.is_control() && c != '\n'),
            "{asked:?}"
        );
        assert!(!page.contains('\u{202e}'), "{asked:?}");
    }
}

#[test]
fn every_open_batch_has_its_label_on_as_many_sheets_as_it_takes() {
    let home = nursery();
    let open = home.struck(&["batches", "--open", "--json"]).done();
    let open: serde_json::Value = serde_json::from_str(&open).unwrap();
    let codes: Vec<&str> = open["batches"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["batch"].as_str().unwrap())
        .collect();
    assert!(codes.len() > 10);
    let page = home
        .struck(&["print", "labels", "--open", "--sheet", "2x3"])
        .done();
    assert_eq!(
        page.matches("<section class=\"paper\">").count(),
        codes.len().div_ceil(6)
    );
    assert_eq!(page.matches("<article>").count(), codes.len());
    for code in &codes {
        assert!(page.contains(&format!(">{code}</h1>")), "{code}");
        assert!(
            page.contains(&format!("aria-label=\"QR code of {code}\"")),
            "{code}"
        );
    }
    let page = home
        .struck(&[
            "print", "labels", codes[0], "--copies", "3", "--size", "60x30mm",
        ])
        .done();
    assert_eq!(page.matches("<section class=\"paper\">").count(), 3);
    assert!(page.contains("size:60mm 30mm"));
    let csv = home.struck(&["print", "labels", "--open", "--csv"]).done();
    assert_eq!(csv.lines().count(), codes.len() + 1);
}

#[test]
fn labels_that_cannot_be_are_refused_in_words() {
    let home = nursery();
    for (words, told) in [
        (&["--sheet", "30x40"][..], "its code needs"),
        (&["--sheet", "many"], "3x8"),
        (&["--size", "60"], "60x30mm"),
        (&["--copies", "0"], "1 to 200"),
        (&["99-999"], "no batch 99-999"),
        (&["--new"], "No batch fits that choice"),
    ] {
        let said = home.struck(&[&["print", "labels"], words].concat());
        assert!(
            said.code > 0 && said.err.contains(told) && said.out.is_empty(),
            "{words:?}: {}",
            said.err
        );
    }
}

#[test]
fn the_pages_say_what_is_stored() {
    let home = nursery();
    let mut out = String::new();
    for asked in [
        &["labels", "--open", "--place", "mist bench"][..],
        &["looks"],
        &["sticking", "--rows", "3"],
        &["season", "2025"],
        &["taxon", "weigela"],
    ] {
        let words: Vec<&str> = ["print"].into_iter().chain(asked.iter().copied()).collect();
        out.push_str(&format!(
            "=== {}\n{}\n",
            words.join(" "),
            text(&home.struck(&words).done())
        ));
    }
    insta::assert_snapshot!(out);
}

/// Content lines put together again (RFC 5545, section 3.1).
fn unfolded(file: &str) -> Vec<String> {
    file.replace("\r\n ", "")
        .split("\r\n")
        .filter(|line| !line.is_empty())
        .map(str::to_owned)
        .collect()
}

fn values<'a>(lines: &'a [String], name: &str) -> Vec<&'a str> {
    lines
        .iter()
        .filter_map(|line| line.strip_prefix(name)?.strip_prefix(':'))
        .collect()
}

#[test]
fn the_calendar_is_as_the_standard_has_it_and_moves_its_events() {
    let home = nursery();
    let file = home
        .struck(&["print", "calendar", "--alarm", "07:30"])
        .done();
    assert!(
        file.ends_with("END:VCALENDAR\r\n") && !file.replace("\r\n", "").contains(['\n', '\r'])
    );
    for line in file.split("\r\n") {
        assert!(line.len() <= 75, "{line}");
    }
    let lines = unfolded(&file);
    let uids = values(&lines, "UID");
    assert_eq!(uids.iter().collect::<BTreeSet<_>>().len(), uids.len());
    assert_eq!(
        uids.len(),
        values(&lines, "BEGIN")
            .iter()
            .filter(|what| **what == "VEVENT")
            .count()
    );
    assert_eq!(
        values(&lines, "TRIGGER").len(),
        values(&lines, "STATUS")
            .iter()
            .filter(|what| **what == "CONFIRMED")
            .count()
    );
    // The next day the same batches keep their events, and each is newer than it was.
    let later = Home::with_sample("nursery").at("2026-08-21T09:00:00+01:00");
    let again = unfolded(&later.struck(&["print", "calendar"]).done());
    let same: BTreeSet<&str> = values(&again, "UID").into_iter().collect();
    assert!(uids.iter().filter(|uid| same.contains(**uid)).count() + 3 >= uids.len());
    let newest = |lines: &[String]| {
        values(lines, "SEQUENCE")
            .iter()
            .map(|n| n.parse::<u64>().unwrap())
            .max()
    };
    assert!(newest(&again) > newest(&lines));
    insta::assert_snapshot!(lines.join("\n"));
}

#[test]
fn hostile_text_stays_in_its_line_of_the_calendar() {
    let home = hostile();
    let lines = unfolded(&home.struck(&["print", "calendar"]).done());
    let events = values(&lines, "BEGIN")
        .iter()
        .filter(|what| **what == "VEVENT")
        .count();
    assert_eq!(events, HOSTILE.len());
    assert!(
        lines
            .iter()
            .any(|line| line.contains("back\\\\slash\\; semi\\, comma")),
        "{lines:?}"
    );
    assert!(!lines.join("").chars().any(char::is_control));
    let said = home.struck(&["print", "calendar", "--alarm", "late"]);
    assert!(said.code == 2 && said.err.contains("07:30"), "{}", said.err);
}

#[test]
fn a_page_goes_whole_into_its_file() {
    let home = Home::with_sample("first-days");
    let path = home.path().join("looks.html");
    let said = home.struck(&["print", "looks", "--to", path.to_str().unwrap()]);
    assert!(
        said.code == 0 && said.out.is_empty() && said.err.contains("looks.html"),
        "{}",
        said.err
    );
    assert_eq!(
        fs::read_to_string(&path).unwrap(),
        home.struck(&["print", "looks"]).done()
    );
}
