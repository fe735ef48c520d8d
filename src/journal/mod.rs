//! Lines on disk: reading, appending, following. It holds no opinion on what the lines mean.

pub mod append;
pub mod crc;
pub mod disk;
pub mod line;
pub mod lock;
pub mod real;
pub mod scan;
pub mod trouble;
