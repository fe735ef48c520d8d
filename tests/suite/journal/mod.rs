//! Lines on disk: the tests of the journal room; holds no test itself.

mod appending;
mod lines;
mod scanning;
mod twin;
