//! Lines on disk: reading, appending, following. It holds no opinion on what the lines mean.

pub mod append;
pub mod codec;
pub mod crc;
pub mod disk;
pub mod disk_error;
mod followed;
pub mod line;
pub mod lock;
pub mod reading;
pub mod real;
pub mod scan;
mod watch;
pub mod wire;
mod written;
