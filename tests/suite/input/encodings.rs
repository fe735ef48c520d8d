//! In which encoding a device's text is: UTF-16 by its mark or by the zeros between its letters, never for holes.

use struck::input::encoding::utf16;

fn wide(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(bytes).collect()
}

#[test]
fn utf16_is_known_without_its_mark_and_holes_are_no_letters() {
    let text = "time,air C\n2026-06-01 00:00,20.5\n";
    let [little, big] = [u16::to_le_bytes, u16::to_be_bytes].map(|bytes| wide(text, bytes));
    assert_eq!(utf16(&little).map(|it| it.name()), Some("UTF-16LE"));
    assert_eq!(utf16(&big).map(|it| it.name()), Some("UTF-16BE"));
    assert_eq!(utf16(text.as_bytes()), None);
    assert_eq!(utf16(&[0; 512]), None);
    let mut holed = text.as_bytes().to_vec();
    holed.resize(512, 0);
    assert_eq!(utf16(&holed), None);
    assert_eq!(utf16(b""), None);
}
