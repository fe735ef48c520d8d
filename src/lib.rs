//! struck: a bench journal for plants raised from cuttings.
//!
//! One crate in eight rooms; each may use only the rooms named after it, and a test
//! (`tests/suite/tidy.rs`) holds them to it:
//!
//! ```text
//! main ── cli ── screens          the two faces: commands, terminal
//!          └──┬─────┘
//!           desk                  the use cases both faces share
//!          ┌──┴──┐
//!      journal  words             lines on disk │ how things are said
//!          └──┬──┘
//!            book                 the trade, pure
//!             │
//!          figures                numbers only
//! ```

pub mod book;
pub mod cli;
pub mod desk;
pub mod figures;
pub mod journal;
pub mod screens;
pub mod words;
