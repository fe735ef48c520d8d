//! Lines on disk: the tests of the journal room; holds no test itself.

mod appending;
mod codec;
mod damage;
mod following;
mod fuzzed;
#[path = "../../fuzz/laws.rs"]
mod laws;
mod lines;
mod many_files;
mod real;
pub mod samples;
mod scanning;
mod sessions;
mod twin;

/// Each input tries every repetition of a law.
const IN_TURN: bool = false;

use crate::support::harm;
