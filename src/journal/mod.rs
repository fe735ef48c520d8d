//! Lines on disk: reading, appending, following. It holds no opinion on what the lines mean.

pub mod append;
pub mod codec;
pub mod crc;
pub mod disk;
mod fast;
pub mod folder;
mod known;
pub mod line;
pub mod lock;
pub mod reading;
pub mod real;
pub mod scan;
pub mod trouble;
pub mod wire;
