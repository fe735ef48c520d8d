//! The words of the trade as types: names of taxa.

mod taxon;
