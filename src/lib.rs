//! struck: a bench journal for plants raised from cuttings.
//!
//! One crate in eleven rooms; each may use only rooms below it, and a test (`tests/suite/tidy/`) holds them to it:
//!
//! ```text
//! main ── cli ── tui              the two faces: commands, terminal
//!          └──┬───┘
//!            app                  the use cases both faces share
//!     ┌───────┼─────┬────────┐
//!  journal  input handover   │    lines on disk │ what people and devices wrote │ what is handed out
//!     │       └──┬──┘        │
//!     │         text ──┬─────┘    how things are said
//!     │           analysis        the questions: timelines, trials, due, forecast, plan
//!     │             │
//!     └──────────  fold           entries to batches
//!                   │
//!           model      stats      the words of the trade │ numbers only
//! ```

pub mod analysis;
pub mod app;
pub mod cli;
pub mod fold;
pub mod handover;
pub mod input;
pub mod journal;
pub mod model;
pub mod stats;
pub mod text;
pub mod tui;
