//! What every reader of a phrase is given, and the form of its answer. It reads nothing itself.

use super::known::{Known, Now};
use crate::model::value::Value;

/// What every reader of a phrase is given.
#[derive(Clone, Copy)]
pub(super) struct Context<'a> {
    /// The kind of entry being said.
    pub kind: &'static str,
    /// What the journal holds.
    pub known: &'a Known,
    /// The moment.
    pub now: &'a Now<'a>,
}

/// Fields with their values, or what was wanted instead.
pub(super) type Said = Result<Vec<(&'static str, Value)>, String>;

/// One field said.
pub(super) fn say(field: &'static str, value: Value) -> Said {
    Ok(vec![(field, value)])
}
