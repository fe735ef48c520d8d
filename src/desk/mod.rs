//! The use cases both faces share; the only reader of the clock and of entropy. It draws and prints nothing.

pub mod clock;
pub mod codes;
pub mod failure;
pub mod files;
pub mod sample;
pub mod settings;
