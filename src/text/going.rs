//! What leaves the figures with an entry that is withdrawn, in words. It withdraws nothing.

/// `goes the later entry of its batch`, of so many; nothing for none.
#[must_use]
pub fn going_with(count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some("goes the later entry of its batch".into()),
        many => Some(format!("go the {many} later entries of its batch")),
    }
}
