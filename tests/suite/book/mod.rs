//! The trade: names, entries, batches.

mod settling;
mod taxon;
