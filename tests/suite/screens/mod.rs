//! The terminal face: keys, bytes, screens.

mod air;
mod bytes;
mod drawn;
mod due;
mod face;
mod field;
mod gallery;
mod lives;
mod outside;
mod recording;
mod stored;
mod sums;
mod table;
mod taxon;
mod trials;
mod views;
