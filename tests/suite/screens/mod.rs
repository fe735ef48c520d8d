//! The terminal face: keys, bytes, screens.

mod bytes;
mod face;
mod field;
mod lives;
mod outside;
mod recording;
mod stored;
mod sums;
mod table;
mod taxon;
mod views;
