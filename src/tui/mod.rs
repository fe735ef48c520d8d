//! The terminal: the only room that knows ratatui. It touches no file and no clock.
//!
//! ```text
//! terminal ── reads keys, signals, answers; draws ──┐
//!    │ Message                                      │ Frame
//!    ▼                                              │
//! update(&mut State, Message) -> Vec<Effect>     view(&State, &mut Frame)
//!    │ Effect                                       ▲
//!    ▼                                              │
//! run_effect ── Door (journal_door: the desk) ── Message ──┘
//! ```
//!
//! [`screen::State`] is [`common::Common`] (what all screens share: the book, the journal's words, the
//! day, the size, who) and a stack of screens, each a value of [`screen::Screen`] that owns its cursor.
//!
//! **A new screen** touches three files besides its declaration below: its own, [`keys`] for its keys, and the file that
//! opens it: the screen beneath it, or [`acts::go`] for a key that works anywhere. The compiler names what is forgotten:
//! a context without layers or a heading, a command without a place in `acts::go`. In its own file stand:
//! 1. `context`: which keys are live. Lists use `KeyContext::List`, typing uses `KeyContext::Field`; a screen with keys
//!    of its own adds a `KeyContext` and rows to [`keys::TABLE`], which also makes its hint line and help.
//! 2. `command`: what its keys do; `press`: letters and digits that are no command. Both answer with a
//!    [`screen::Turn`]: stay, open a screen, go back, and effects for the world outside.
//! 3. `refreshed`: the journal, the day or the size changed. It takes what it needs from `common.book` here and not while
//!    drawing. `subject`: the batch or place that recording keys are then about.
//! 4. Figures that take time: [`common::Common::ask`] with a pure closure in `refreshed`; `answered` takes them from
//!    the screen's [`effect::Awaited`]. It draws without them until they come. Long work asks `go_on` from time to
//!    time whether anybody still waits: a screen that was left, or that asks anew on the topic, does not.
//! 5. `draw`: on a [`canvas::Canvas`], which cleans and cuts every text. Pages turn whole; a chosen row is marked by
//!    `>` in the margin and never reversed. What may not fit goes on a [`paging::Sheet`], which says what lies below;
//!    nothing is cut without a sign. At 40 columns nothing stands side by side.
//!
//! **From a key to the line on disk**: `terminal` reads the key, `update` finds its command in `keys` and hands it to the
//! screen (`pad`), which answers with `Effect::Record`; `run_effect` passes that through the `Door` to the `app`, which
//! appends it to the journal. What is on disk comes back as `Message::OnDisk`, and once the book holds it as
//! `Message::Recorded`.
//!
//! Tests type keys and compare screens: `tests/suite/tui/`.

pub mod acts;
pub mod air;
pub mod batch;
pub mod batch_list;
pub mod bench;
pub mod canvas;
pub mod common;
pub mod effect;
pub mod field;
pub mod filter;
pub mod find;

pub mod help;
pub mod journal_door;
pub mod keys;
pub mod pad;
pub mod pages;
pub mod paging;
pub mod record;
pub mod round;
pub mod screen;
pub mod seasons;
pub mod targets;
pub mod taxa;
pub mod terminal;
pub mod trials;
pub mod update;
pub mod view;

use common::{Common, Start};
use effect::Effect;
use screen::State;

/// The face at its start, and what it asks of the world at once: the bench, and on an empty journal the first
/// sticking on top of it.
#[must_use]
pub fn begin(start: Start) -> (State, Vec<Effect>) {
    let common = Common::new(start);
    let empty = common.book.batches().is_empty();
    let mut state = State::new(common, Box::new(bench::BenchScreen::default()));
    if empty {
        let first = record::StickScreen::open(&state.common);
        state.push(Box::new(first));
    } else if let Some(who) = record::WhoScreen::at_start(&state.common) {
        state.push(Box::new(who));
    }
    let mut effects = Vec::new();
    update::refresh(&mut state, &mut effects);
    (state, effects)
}
