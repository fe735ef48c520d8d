//! An entry that stands: amends applied, not withdrawn. It is shared, never copied.

use crate::model::entry::Entry;
use crate::model::fault::Origin;
use std::sync::Arc;

/// An entry as it stands once amends and withdraws are settled.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The entry, amends applied.
    pub entry: Arc<Entry>,
    /// Where it was written.
    pub origin: Origin,
    /// Whether an amend changed it.
    pub amended: bool,
}

/// An amend or a withdraw, kept for those who read the journal itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// It.
    pub standing: Standing,
    /// Whether it holds: it is neither withdrawn itself nor one of a ring.
    pub in_force: bool,
}

impl Standing {
    /// Whether it is the very same entry: cheap when shared, by content otherwise.
    pub fn is_same(&self, other: &Self) -> bool {
        (Arc::ptr_eq(&self.entry, &other.entry) || self.entry == other.entry)
            && self.origin == other.origin
            && self.amended == other.amended
    }
}
