//! The terminal face: keys, bytes, screens.

mod air;
mod bytes;
mod corrections;
mod drawn;
mod due;
mod face;
mod far_days;
mod field;
mod gallery;
mod harm;
mod lives;
mod outside;
mod pad_words;
mod pages;
mod recording;
mod season_story;
mod sittings;
mod staying;
mod stored;
mod sums;
mod table;
mod taxon;
mod trials;
mod usual;
mod views;
mod winter;
