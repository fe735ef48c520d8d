//! Commands that work from anywhere: recording, getting about, undo. It opens screens and asks; it writes nothing.

use super::common::{Asked, Common, Done, Note};
use super::effect::{Act, Effect, NewEntry, Recorded, Refusal};
use super::find::Find;
use super::help::Help;
use super::ink::Meaning;
use super::keys::{self, Command, Context};
use super::only::Only;
use super::pages::Pages;
use super::record::{By, Line, Stick, drafts};
use super::screen::Turn;
use super::seasons::Seasons;
use super::state::State;
use super::update::take;
use crate::model::entry::{Kind, Withdraw};
use crate::model::filter::Filter;
use crate::model::id::Id;
use crate::text::going::going_with;

/// Whether a command works from anywhere.
#[must_use]
pub fn is_global(command: Command) -> bool {
    let mut rows = keys::TABLE.iter();
    let all = [Context::Anywhere, Context::Always];
    rows.any(|row| row.command == command && all.contains(&row.context))
}

/// Carries out a command that works from anywhere.
pub fn go(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    let turn = match command {
        Command::Quit => Turn::effect(Effect::Quit),
        Command::Suspend => Turn::effect(Effect::Suspend),
        Command::Redraw => Turn::effect(Effect::Redraw),
        Command::Undo => undo(state),
        Command::TakeUp => take_up(state),
        Command::ThrowOut => throw_out(state),
        Command::Back => Turn::back(),
        Command::Find => Turn::open(Find::default()),
        Command::Help => Turn::open(Help::new(state.top().context())),
        Command::Pages => Turn::open(Pages::default()),
        Command::Seasons => Turn::open(Seasons::default()),
        Command::Only => Turn::open(Only::new(&state.common)),
        Command::All => all(&mut state.common),
        Command::By => Turn::open(By::default()),
        Command::Trials => Turn::open(super::trials::Trials::default()),
        Command::Taxa => Turn::open(super::taxa::Taxa::default()),
        Command::Stick => Turn::open(Stick::open(&state.common)),
        recording => record(state, recording),
    };
    take(state, turn, effects);
}

/// Drops the filter.
fn all(common: &mut Common) -> Turn {
    let said = if common.is_narrowed() {
        "All batches again."
    } else {
        "All batches are shown: * narrows them."
    };
    common.filter = Filter::default();
    common.say(Meaning::Plain, said);
    Turn::stay()
}

/// Opens a typed line about what is chosen.
fn record(state: &mut State, command: Command) -> Turn {
    let subject = state.top().subject(&state.common);
    match Line::open(command, subject) {
        Some(line) => Turn::open(line),
        None => {
            state
                .common
                .say(Meaning::Plain, "Choose a batch or a place first.");
            Turn::stay()
        }
    }
}

/// Says what undo would take back, and takes it at the second press.
fn undo(state: &mut State) -> Turn {
    let Some(last) = state.common.sitting.last().cloned() else {
        let line =
            "Nothing was entered in this sitting; older entries are taken back on their batch.";
        state.common.say(Meaning::Plain, line);
        return Turn::stay();
    };
    let line = format!("u again takes back: {}", last.said);
    ask(
        &mut state.common,
        Command::Undo,
        Effect::Withdraw(last.ids, last.said),
        line,
    );
    Turn::stay()
}

/// Asks to withdraw an entry or a line, named by its id: at the second press of the key it is done.
pub fn take_back(common: &mut Common, of: Id, said: &str) {
    let others = going_with(common.book.going_with(&of));
    let others = others.map_or_else(String::new, |said| format!("; with it {said}"));
    let withdraw = NewEntry {
        kind: Kind::Withdraw(Box::new(Withdraw {
            target: of,
            reason: None,
        })),
        note: None,
    };
    let effect = Effect::Record(Act {
        at: None,
        entries: vec![withdraw],
        said: format!("taken back: {said}"),
    });
    let line = format!("k again takes back: {said}{others}");
    ask(common, Command::TakeBack, effect, line);
}

/// Asks for the same key again before something is done.
pub fn ask(common: &mut Common, command: Command, effect: Effect, line: String) {
    common.say(Meaning::Pressing, line);
    common.asked = Some(Asked { command, effect });
}

/// Opens the unfinished entry as it was left.
fn take_up(state: &mut State) -> Turn {
    let Some(draft) = state.common.offered.take() else {
        state
            .common
            .say(Meaning::Plain, "Nothing was left unfinished.");
        return Turn::stay();
    };
    match drafts::resume(&draft, &state.common) {
        // From now on it is kept as this sitting's own draft.
        Some(screen) => {
            let drop = Effect::DropOffered(screen.draft());
            Turn::step(super::screen::Step::Open(screen)).and(drop)
        }
        None => {
            let words = drafts::words(&draft, &state.common);
            let line = format!("Its batch is not in this journal: {words}");
            state.common.say(Meaning::Pressing, line);
            state.common.offered = Some(draft);
            Turn::stay()
        }
    }
}

fn throw_out(state: &mut State) -> Turn {
    match state.common.offered.clone() {
        None => state
            .common
            .say(Meaning::Plain, "Nothing was left unfinished."),
        Some(draft) => {
            let words = drafts::words(&draft, &state.common);
            let line = format!("x again throws out: {words}");
            ask(
                &mut state.common,
                Command::ThrowOut,
                Effect::DropOffered(None),
                line,
            );
        }
    }
    Turn::stay()
}

/// What was to be written is on disk: the screen that wrote it is done.
pub fn recorded(state: &mut State, recorded: Recorded, effects: &mut Vec<Effect>) {
    let word = if recorded.undoes {
        "Taken back"
    } else {
        "Saved"
    };
    let said = std::iter::once(format!("{word}: {}", recorded.said));
    let lines = said.chain(recorded.told).collect();
    state.common.note = Some(Note::new(Meaning::Done, lines));
    if recorded.undoes {
        state.common.sitting.pop();
        return;
    }
    state.common.labels = recorded.codes;
    let done = Done {
        ids: recorded.ids,
        said: recorded.said,
    };
    let (common, screen) = state.parts();
    let turn = screen.recorded(common, &done);
    state.common.sitting.push(done);
    take(state, turn, effects);
    choose_labelled(state);
}

/// The screen shown goes to the first batch whose label is seen, so that keys act on it.
fn choose_labelled(state: &mut State) {
    let (common, screen) = state.parts();
    let last = common.sitting.last().filter(|_| !common.labels.is_empty());
    let mut ids = last.into_iter().flat_map(|done| &done.ids);
    if let Some(batch) = ids.find(|id| common.book.batch(id).is_some()) {
        screen.choose(common, batch);
    }
}

/// What was to be written is not saved: the screen keeps what is typed.
pub fn refused(state: &mut State, refusal: Refusal) {
    let (common, screen) = state.parts();
    screen.refused(common, &refusal);
    common.note = Some(Note::new(Meaning::Pressing, refusal.lines));
}
