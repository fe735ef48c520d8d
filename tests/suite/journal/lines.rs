//! The check value and the names of lines, against published values.

use proptest::prelude::*;
use struck::journal::crc::{check, crc32c, seal};
use struck::journal::line::{LineNames, foreign_bytes, hash, trimmed};
use struck::model::fault::{Crc, LineFault};

const LOOK: &str = r#"{"v":1,"id":"01JZ0000000000000000000000","at":"2026-06-14","kind":"look","batch":"26-041","rooted":3"#;

/// RFC 3720 (iSCSI), appendix B.4; `123456789` is the check value of CRC-32/ISCSI in the catalogue of
/// parametrised CRC algorithms.
#[test]
fn crc32c_gives_the_published_values() {
    let ascending: Vec<u8> = (0..32).collect();
    let descending: Vec<u8> = (0..32).rev().collect();
    for (bytes, value) in [
        (b"123456789".to_vec(), 0xe306_9283),
        (vec![0; 32], 0x8a91_36aa),
        (vec![0xff; 32], 0x62a8_ab43),
        (ascending, 0x46dd_794e),
        (descending, 0x113f_db5c),
    ] {
        assert_eq!(crc32c(&bytes), value, "{bytes:?}");
    }
    assert_eq!(
        crc32c(LOOK.as_bytes()),
        0x5422_db1c,
        "the format's own example"
    );
}

#[test]
fn a_sealed_line_ends_in_its_check_value() {
    let line = seal(format!("{LOOK}}}").as_bytes());
    assert_eq!(line, format!("{LOOK},\"crc\":\"5422db1c\"}}").as_bytes());
    assert_eq!(check(&line), Crc::Right);
}

#[test]
fn a_line_without_a_check_value_is_written_by_hand() {
    for line in [
        "",
        "{}",
        "\"}",
        &format!("{LOOK}}}"),
        r#"{"note":"a crc of steel 12345678"}"#,
    ] {
        assert_eq!(check(line.as_bytes()), Crc::Absent, "{line}");
    }
}

#[test]
fn damage_to_the_check_value_itself_shows() {
    for tail in [
        "\"crc\":\"5422db1d\"}",
        "\"crc\":\"5422DB1C\"}",
        "\"crc\":\"5422db1 \"}",
        "\"crb\":\"5422db1c\"}",
        "#crc\":\"5422db1c\"}",
    ] {
        assert_eq!(
            check(format!("{LOOK},{tail}").as_bytes()),
            Crc::Wrong,
            "{tail}"
        );
    }
}

#[test]
fn every_flipped_bit_of_a_sealed_line_shows_in_its_check_value() {
    let line = seal(format!("{LOOK}}}").as_bytes());
    for at in 0..line.len() - 1 {
        for bit in 0..8 {
            let mut flipped = line.clone();
            flipped[at] ^= 1 << bit;
            assert_eq!(check(&flipped), Crc::Wrong, "byte {at}, bit {bit}");
        }
    }
}

/// SHA-256 of `abc` is ba7816bf 8f01cfea …, of nothing e3b0c442 98fc1c14 … (FIPS 180-4 examples, NIST).
#[test]
fn lines_are_named_by_their_hash() {
    for line in [b"abc".as_slice(), b"abc\r", b"\xef\xbb\xbfabc"] {
        assert_eq!(hash(line, true), 0xba78_16bf_8f01_cfea);
    }
    assert_eq!(hash(b"", false), 0xe3b0_c442_98fc_1c14);
    assert_ne!(hash(b"\xef\xbb\xbfabc", false), hash(b"abc", false));
    let mut names = LineNames::default();
    let value = hash(b"abc", false);
    let given: Vec<String> = (0..3).map(|_| names.next(value).to_string()).collect();
    assert_eq!(
        given,
        [
            "line:ba7816bf8f01cfea",
            "line:ba7816bf8f01cfea-2",
            "line:ba7816bf8f01cfea-3"
        ]
    );
}

#[test]
fn reading_tolerates_what_editors_add() {
    assert_eq!(trimmed(b"\xef\xbb\xbf{} \r", true), b"{}");
    assert_eq!(trimmed(b"{}\r", false), b"{}");
    assert_eq!(trimmed(b" \r", false), b"");
}

#[test]
fn foreign_bytes_are_told_apart() {
    assert_eq!(foreign_bytes(b"<<<<<<< HEAD"), Some(LineFault::MergeMark));
    assert_eq!(foreign_bytes(b"======="), Some(LineFault::MergeMark));
    assert_eq!(
        foreign_bytes(b"\0\0\0{\"v\":1}"),
        Some(LineFault::ZeroBytes)
    );
    assert_eq!(foreign_bytes(b"hello"), None);
}

proptest! {
    #[test]
    fn sealing_any_object_checks(body in "[ -~]{0,60}") {
        let line = seal(format!("{{{body}}}").as_bytes());
        prop_assert_eq!(check(&line), Crc::Right);
    }
}
