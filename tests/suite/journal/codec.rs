//! Lines to entries and back: what is tolerated, what is a fault and which, exact round trips.

use super::samples::{any_entry, any_text};
use proptest::prelude::*;
use struck::journal::codec::{Decoded, Unwritable, decode, encode};
use struck::journal::crc::seal;
use struck::journal::line::hash;
use struck::model::at::At;
use struck::model::entry::{Entry, Kind};
use struck::model::fault::{Crc, LineFault};
use struck::model::id::Id;
use struck::model::value::EntryFault;
use struck::model::value::{Celsius, Value};

fn read(line: &str) -> Decoded {
    decode(line.as_bytes(), false).unwrap()
}

fn entry(line: &str) -> Entry {
    read(line)
        .entry
        .unwrap_or_else(|fault| panic!("{line}: {fault:?}"))
}

fn fault(line: &str) -> LineFault {
    read(line).entry.unwrap_err()
}

const LOOK: &str = r#"{"v":1,"id":"01JZ0000000000000000000000","at":"2026-06-14","kind":"look","batch":"26-041","rooted":3"#;

#[test]
fn the_formats_own_example_reads_and_is_written_the_same() {
    let line = format!("{LOOK},\"crc\":\"5422db1c\"}}");
    let decoded = read(&line);
    assert_eq!(decoded.crc, Crc::Right);
    let entry = decoded.entry.unwrap();
    let Kind::Look(look) = &entry.kind else {
        panic!("{entry:?}")
    };
    assert_eq!(
        (look.batch.as_str(), look.rooted, look.callused),
        ("26-041", Some(3), None)
    );
    assert_eq!(encode(&entry).unwrap(), line.as_bytes());
}

#[test]
fn blanks_are_no_line() {
    for blank in ["", " ", "\r", " \t\r"] {
        assert_eq!(decode(blank.as_bytes(), false), None);
    }
    assert_eq!(decode(b"\xef\xbb\xbf\r", true), None);
}

#[test]
fn what_a_hand_may_write_is_taken() {
    let plain = entry(&format!("{LOOK}}}"));
    let deep = format!("{}1{}", "[".repeat(200), "]".repeat(200));
    let deep_objects = format!("{}1{}", r#"{"x":"#.repeat(300), "}".repeat(300));
    for line in [
        format!("{LOOK}}} \r"),
        r#"{"kind":"look","rooted":3,"batch":"26-041","at":"2026-06-14","id":"01JZ0000000000000000000000"}"#.into(),
        r#"{ "v" : 1.0 , "id":"01JZ0000000000000000000000", "at":"2026-06-14","kind":"look","batch":"26-041","rooted":3.0 }"#.into(),
        format!("{LOOK},\"weather\":{{\"a\":[1,null,{{}}]}}}}"),
        format!("{LOOK},\"deep\":{deep}}}"),
        format!("{LOOK},\"deep\":{deep_objects}}}"),
        LOOK.replace("26-041", r"26\u002d041") + "}",
        LOOK.replace("\"rooted\":3", "\"rooted\":3e0") + "}",
    ] {
        assert_eq!(entry(&line), plain, "{line}");
        assert_eq!(read(&line).crc, Crc::Absent);
    }
}

#[test]
fn a_line_without_an_id_is_named_by_its_bytes() {
    let line = r#"{"at":"2026-06-14","kind":"remark","note":"fog at noon"}"#;
    let decoded = read(line);
    let value = hash(line.as_bytes(), false);
    assert_eq!(decoded.hash, Some(value));
    let entry = decoded.entry.unwrap();
    assert_eq!(entry.id, Id::for_line(value, 1));
    let written = encode(&entry).unwrap();
    assert!(
        !String::from_utf8(written).unwrap().contains("\"id\""),
        "a line's name is not its id"
    );
}

/// LineNames by the hundred thousand once took minutes, since each was looked for among all before it.
#[test]
fn more_names_and_values_than_any_entry_has_are_refused() {
    let names = |count: usize| -> String {
        let each: Vec<String> = (0..count).map(|n| format!("\"k{n}\":0")).collect();
        each.join(",")
    };
    let told = |line: String| decode(line.as_bytes(), false).unwrap().entry;
    let many = |line: String| match told(line) {
        Err(LineFault::NotJson { detail, .. }) => detail,
        other => panic!("{other:?}"),
    };
    let words = "it holds more than 524288 names and values";
    assert_eq!(many(format!("{LOOK},{}}}", names(600_000))), words);
    let lost = format!("{LOOK},\"lost\":{{{}}}}}", names(600_000));
    assert_eq!(many(lost), words);
    let list = format!("{LOOK},\"lost\":[{}0]}}", "0,".repeat(600_000));
    assert_eq!(many(list), words);
    assert!(told(format!("{LOOK},{}}}", names(500_000))).is_ok());
    let again = format!("{LOOK},{},\"k7\":1}}", names(200_000));
    let fault = told(again).unwrap_err();
    assert!(
        matches!(&fault, LineFault::DuplicateKey { key, values } if key == "k7" && values[1] == "1"),
        "{fault:?}"
    );
}

#[test]
fn each_fault_is_told_by_its_own_name() {
    let not_json = |detail: &str, byte| LineFault::NotJson {
        detail: detail.into(),
        byte,
    };
    let doubled = |key: &str, a: &str, b: &str| LineFault::DuplicateKey {
        key: key.into(),
        values: [a.into(), b.into()],
    };
    let look = |rest: &str| format!("{LOOK},{rest}}}");
    for (line, expected) in [
        (LOOK.into(), not_json("the line breaks off", 100)),
        (
            format!("{LOOK}}}{LOOK}}}"),
            not_json("a second entry begins on the same line", 102),
        ),
        ("hello".into(), not_json("expected value", 1)),
        ("[1,2]".into(), LineFault::NotObject),
        ("\"look\"".into(), LineFault::NotObject),
        ("<<<<<<< HEAD".into(), LineFault::MergeMark),
        ("=======".into(), LineFault::MergeMark),
        (">>>>>>> theirs".into(), LineFault::MergeMark),
        ("\0\0\0\0".into(), LineFault::ZeroBytes),
        (format!("\0\0{LOOK}}}"), LineFault::ZeroBytes),
        (format!("{}\0\0\0", &LOOK[..40]), LineFault::ZeroBytes),
        (look(r#""rooted":4"#), doubled("rooted", "3", "4")),
        (
            look(r#""weather":"dull","weather":{"is":"bright"}"#),
            doubled("weather", "\"dull\"", "{\"is\":\"bright\"}"),
        ),
        (
            look(r#""lost":{"mould":1,"mould":2}"#),
            doubled("mould", "1", "2"),
        ),
        (
            look(r#""crc":"5422db1c","crc":"5422db1c""#),
            doubled("crc", "\"5422db1c\"", "\"5422db1c\""),
        ),
        (
            look(r#""crc":"5422db1c","note":"later""#),
            LineFault::CrcOutOfPlace,
        ),
        (look(r#""crc":"5422db""#), LineFault::CrcOutOfPlace),
        (look(r#""crc":1412619036"#), LineFault::CrcOutOfPlace),
        (look(r#" "crc" : "5422db1c""#), LineFault::CrcOutOfPlace),
    ] {
        assert_eq!(fault(&line), expected, "{line}");
        assert!(
            read(&line).hash.is_some(),
            "a bad line has a name to be settled by"
        );
    }
}

#[test]
fn numbers_and_letters_that_json_cannot_hold_are_faults() {
    for value in [
        "NaN",
        "Infinity",
        "-Infinity",
        "1e999",
        "03",
        "+3",
        ".5",
        "0x3",
        r#""\ud800""#,
        "\"\u{7}\"",
    ] {
        let line = format!("{LOOK},\"seen\":{value}}}");
        assert!(matches!(fault(&line), LineFault::NotJson { .. }), "{line}");
    }
    let mut bytes = format!("{LOOK},\"note\":\"x\"}}").into_bytes();
    let at = bytes.len() - 3;
    bytes[at] = 0xff;
    let byte = u32::try_from(at + 1).unwrap();
    assert_eq!(
        decode(&bytes, false).unwrap().entry,
        Err(LineFault::NotUtf8 { byte })
    );
}

#[test]
fn fields_that_do_not_fit_are_named() {
    for (value, field) in [
        ("3.5", "rooted"),
        ("-1", "rooted"),
        ("1000001", "rooted"),
        ("99999999999999999999999999", "rooted"),
        ("\"3\"", "rooted"),
    ] {
        let line = LOOK.replace("\"rooted\":3", &format!("\"rooted\":{value}")) + "}";
        match fault(&line) {
            LineFault::Entry(EntryFault::Bad { field: named, .. }) => {
                assert_eq!(named, field, "{line}")
            }
            other => panic!("{line}: {other:?}"),
        }
    }
    let newer = LOOK.replace("\"v\":1", "\"v\":2") + "}";
    assert_eq!(
        fault(&newer),
        LineFault::Entry(EntryFault::NewerVersion { version: 2 })
    );
    let unknown = LOOK.replace("look", "sniff") + "}";
    assert_eq!(
        fault(&unknown),
        LineFault::Entry(EntryFault::UnknownKind {
            kind: "sniff".into()
        })
    );
}

#[test]
fn a_tower_of_brackets_overflows_nothing() {
    for (open, close) in [("[", "]"), (r#"{"lost":"#, "}"), (r#"{"set":["#, "]}")] {
        for field in ["set", "lost", "unheard_of"] {
            let tower = format!(
                "{LOOK},\"{field}\":{}1{}}}",
                open.repeat(100_000),
                close.repeat(100_000)
            );
            let known = field != "unheard_of";
            assert_eq!(read(&tower).entry.is_err(), known, "{field}");
            assert!(read(&open.repeat(100_000)).entry.is_err());
        }
    }
}

#[test]
fn a_wrong_check_value_still_gives_the_entry() {
    let line = format!("{LOOK},\"crc\":\"5422db1d\"}}");
    assert_eq!(
        (read(&line).crc, read(&line).entry.is_ok()),
        (Crc::Wrong, true)
    );
}

#[test]
fn a_lost_block_does_not_swallow_the_sealed_entry_behind_it() {
    let sealed = format!("{LOOK},\"crc\":\"5422db1c\"}}");
    let damaged = read(&format!("\0\0\0{sealed}"));
    assert_eq!(
        (damaged.crc, damaged.entry),
        (Crc::Wrong, read(&sealed).entry)
    );
}

#[test]
fn one_bit_flipped_anywhere_is_named_and_never_a_panic() {
    for line in [format!("{LOOK},\"note\":\"ü\"}}"), climate_line()] {
        let line = seal(line.as_bytes());
        for at in 0..line.len() {
            for bit in 0..8 {
                let mut flipped = line.clone();
                flipped[at] ^= 1 << bit;
                if flipped[at] == b'\n' {
                    continue;
                }
                let decoded = decode(&flipped, true).unwrap();
                assert!(
                    decoded.entry.is_err() || decoded.crc == Crc::Wrong,
                    "byte {at}, bit {bit}"
                );
            }
        }
    }
}

fn climate_line() -> String {
    r#"{"v":1,"id":"01JZ0000000000000000000000","at":"2026-06-14T16:30:00+02:00","kind":"climate","place":"bench A","air_c":21.5,"rh_pct":88,"vent":"half","by":"ann","note":"dull"}"#.into()
}

#[test]
fn numbers_that_are_not_finite_are_not_written() {
    let mut it = entry(&climate_line());
    let Kind::Climate(climate) = &mut it.kind else {
        panic!("{it:?}")
    };
    climate.air_c = Some(Celsius(f64::NAN));
    assert_eq!(encode(&it), Err(Unwritable::NotFinite("air_c")));
}

/// The general reader's answer: an unknown field keeps the fast scanner out.
fn general(line: &str) -> Option<Result<Entry, LineFault>> {
    let open = line.strip_suffix('}')?;
    Some(read(&format!("{open},\"x\":0}}")).entry)
}

proptest! {
    #[test]
    fn every_entry_comes_back_as_it_was(entry in any_entry()) {
        let line = encode(&entry).unwrap();
        let decoded = decode(&line, false).unwrap();
        prop_assert_eq!(decoded.crc, Crc::Right);
        prop_assert_eq!(&decoded.entry, &Ok(entry));
        prop_assert!(!line.contains(&b'\n'));
        let again = encode(&decoded.entry.unwrap()).unwrap();
        prop_assert_eq!(again, line);
    }

    #[test]
    fn both_readers_agree_on_climate_lines(
        at in prop_oneof!["20[0-9]{2}-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-6][0-9]:[0-6][0-9][+-][0-2][0-9]:[0-6][0-9]", Just("0000-01-01T00:00:00+00:00".to_owned()), "2026-06-14(T16:30:00Z)?"],
        place in any_text(),
        numbers in proptest::collection::vec((0usize..9, prop_oneof!["-?[0-9]{1,3}(\\.[0-9]{1,17})?", "[0-9.e+-]{1,6}", Just("null".to_owned()), Just("\"x\"".to_owned())]), 0..4),
        tail in prop_oneof![Just(String::new()), any_text().prop_map(|it| format!(",\"by\":{}", quoted(&it))), any_text().prop_map(|it| format!(",\"note\":{}", quoted(&it)))],
        id in "[0-9A-Za-z_ -]{0,30}",
    ) {
        let names = ["air_c", "rh_pct", "leaf_c", "medium_c", "mist_on_s", "mist_every_s", "ppfd", "vent", "seen"];
        let fields: String = numbers.iter().map(|(name, value)| format!(",\"{}\":{value}", names[*name])).collect();
        let line = format!("{{\"v\":1,\"id\":\"{id}\",\"at\":\"{at}\",\"kind\":\"climate\",\"place\":{}{fields}{tail}}}", quoted(&place));
        match (read(&line).entry, general(&line).unwrap()) {
            (Err(LineFault::NotJson { .. }), Err(LineFault::NotJson { .. })) => {}
            (own, general) => prop_assert_eq!(own, general, "{}", line),
        }
    }

    #[test]
    fn both_readers_agree_on_any_line_of_any_kind(
        entry in any_entry(),
        at in any::<prop::sample::Index>(),
        length in 0usize..6,
        put in prop_oneof![Just(String::new()), "[\\]\\[{}\",:0-9.eE\\\\ nullтrue-]{1,4}", Just(",\"note\":null".to_owned()), Just("[[1]]".to_owned())],
    ) {
        let sealed = String::from_utf8(encode(&entry).unwrap()).unwrap();
        let (open, _) = sealed.split_at(sealed.len() - ",\"crc\":\"00000000\"}".len());
        let whole = format!("{open}}}");
        prop_assert_eq!(read(&whole).entry, general(&whole).unwrap());
        // The same with something taken out, put in or both.
        let boundary = |mut at: usize| {
            at = at.min(open.len());
            while !open.is_char_boundary(at) {
                at += 1;
            }
            at
        };
        let from = boundary(at.index(open.len()));
        let line = format!("{}{put}{}}}", &open[..from], &open[boundary(from + length)..]);
        match (read(&line).entry, general(&line).unwrap()) {
            (Err(LineFault::NotJson { .. }), Err(LineFault::NotJson { .. })) => {}
            (Ok(own), Ok(general)) if own.id.is_line() && general.id.is_line() => {
                prop_assert_eq!(own.to_fields(), general.to_fields());
            }
            (own, general) => prop_assert_eq!(own, general, "{}", line),
        }
    }

    #[test]
    fn any_bytes_are_judged_without_a_panic(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let _ = decode(&bytes, true);
    }

    #[test]
    fn any_damage_to_a_line_is_judged_without_a_panic(cut in 0usize..200, at in 0usize..200, byte in any::<u8>()) {
        let mut line = seal(climate_line().as_bytes());
        let len = line.len();
        line[at % len] = byte;
        line.truncate(len - cut % len);
        let _ = decode(&line, false);
    }

    #[test]
    fn floats_come_back_to_the_last_bit(bits in any::<u64>()) {
        let number = f64::from_bits(bits);
        prop_assume!(number.is_finite());
        let mut text = String::new();
        struck::journal::wire::write(&Value::Number(number), &mut text);
        let line = format!("{{\"seen\":{text}}}");
        let fields = struck::journal::wire::read(&line).unwrap().named;
        let Value::Number(back) = fields[0].1 else { panic!("{fields:?}") };
        prop_assert_eq!(back.to_bits(), bits);
    }
}

fn quoted(text: &str) -> String {
    let mut out = String::new();
    struck::journal::wire::write(&Value::Text(text.into()), &mut out);
    out
}

#[test]
fn a_time_of_day_is_kept_as_written() {
    let line = climate_line();
    let At::Time(time) = entry(&line).at else {
        panic!("{line}")
    };
    assert_eq!(time.to_rfc3339(), "2026-06-14T16:30:00+02:00");
    assert_eq!(encode(&entry(&line)).unwrap(), seal(line.as_bytes()));
}
