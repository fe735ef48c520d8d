//! The trade: names, entries, batches.

mod taxon;
