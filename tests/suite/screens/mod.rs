//! The terminal face: keys, bytes, screens.

mod bytes;
mod face;
mod field;
mod recording;
mod table;
