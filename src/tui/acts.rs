//! Commands that work from anywhere: recording, getting about, undo. It opens screens and asks; it writes nothing.

use super::canvas::Tone;
use super::common::{Common, Notice, SavedAct};
use super::effect::{Effect, Recorded, Refusal};
use super::filter::FilterScreen;
use super::find::FindScreen;
use super::help::HelpScreen;
use super::keys::{self, Command, KeyContext};
use super::pad::PadScreen;
use super::pages::JournalScreen;
use super::record::resumed_amend;
use super::record::{LineScreen, StickScreen, WhoScreen, drafts};
use super::screen::State;
use super::screen::{RecordingSubject, Screen, Turn};
use super::seasons::SeasonsScreen;
use crate::model::filter::Filter;
use crate::model::id::Id;

/// Whether a command works from anywhere.
#[must_use]
pub fn is_global(command: Command) -> bool {
    let mut rows = keys::TABLE.iter();
    let all = [KeyContext::Anywhere, KeyContext::Always];
    rows.any(|row| row.command == command && all.contains(&row.context))
}

/// Carries out a command that works from anywhere.
pub fn go(state: &mut State, command: Command) -> Turn {
    match command {
        Command::Quit => Turn::effect(Effect::Quit),
        Command::Suspend => Turn::effect(Effect::Suspend),
        Command::Redraw => Turn::effect(Effect::Redraw),
        Command::Undo => undo(state),
        Command::TakeUp => take_up(state),
        Command::ThrowOut => throw_out(state),
        Command::Back => Turn::back(),
        Command::Find => Turn::open(FindScreen::default()),
        Command::Help => Turn::open(HelpScreen::new(state.top().context())),
        Command::Pages => Turn::open(JournalScreen::default()),
        Command::Seasons => Turn::open(SeasonsScreen::default()),
        Command::Only => Turn::open(FilterScreen::new(&state.common)),
        Command::All => all(&mut state.common),
        Command::By => Turn::open(WhoScreen::default()),
        Command::Trials => Turn::open(super::trials::TrialsScreen::default()),
        Command::Taxa => Turn::open(super::taxa::TaxaScreen::default()),
        Command::Stick => Turn::open(StickScreen::open(&state.common)),
        Command::Pot
        | Command::Round
        | Command::Climate
        | Command::Move
        | Command::Again
        | Command::Discard
        | Command::Ready
        | Command::Sold
        | Command::Treat
        | Command::Note
        | Command::Line => record(state, command),
        // Those of a screen alone; all are named, so that the compiler asks where a new one belongs.
        Command::Look
        | Command::Order
        | Command::Inside
        | Command::Air
        | Command::Grouping
        | Command::Band
        | Command::Targets
        | Command::Next
        | Command::Previous
        | Command::PageOn
        | Command::PageBack
        | Command::First
        | Command::Last
        | Command::Open
        | Command::Amend
        | Command::Withdraw
        | Command::RightTray
        | Command::Beside
        | Command::Earlier
        | Command::Later
        | Command::Review
        | Command::Stage
        | Command::Against
        | Command::Accept
        | Command::Complete
        | Command::ChooseNext
        | Command::ChoosePrevious
        | Command::Erase
        | Command::Leave
        | Command::MendMore
        | Command::MendUnseen
        | Command::MendLost
        | Command::Before => Turn::stay(),
    }
}

/// Drops the filter.
fn all(common: &mut Common) -> Turn {
    let said = if common.is_narrowed() {
        "All batches are shown."
    } else {
        "All batches are shown: * narrows them."
    };
    common.filter = Filter::default();
    common.say(Tone::Plain, said);
    Turn::stay()
}

/// Opens a typed line about what is chosen.
fn record(state: &mut State, command: Command) -> Turn {
    let subject = state.top().subject(&state.common);
    match LineScreen::open(command, subject) {
        Some(line) => Turn::open(line),
        None => {
            state
                .common
                .say(Tone::Plain, "Choose a batch or a place first.");
            Turn::stay()
        }
    }
}

/// Says what undo would withdraw, and withdraws it at the second press.
fn undo(state: &mut State) -> Turn {
    let last = state.common.last_own_act();
    let Some(last) = last.map(|at| state.common.sitting[at].clone()) else {
        let line =
            "Nothing was entered in this sitting. Withdraw an older entry on its batch's page.";
        state.common.say(Tone::Plain, line);
        return Turn::stay();
    };
    if state.common.undone {
        let line = format!(
            "The last act is withdrawn. To withdraw the one before, press any other key, then u: {}",
            last.summary
        );
        state.common.say(Tone::Plain, line);
        return Turn::stay();
    }
    let line = format!("Press u once more to withdraw: {}", last.summary);
    let withdraw = Effect::Withdraw(last.ids, last.summary);
    state.common.confirm(Command::Undo, withdraw, line);
    Turn::stay()
}

/// Opens the unfinished entry as it was left.
fn take_up(state: &mut State) -> Turn {
    let Some(offered) = state.common.offered.take() else {
        state
            .common
            .say(Tone::Plain, "Nothing was left unfinished.");
        return Turn::stay();
    };
    match resume(&offered.draft, &state.common) {
        // From now on it is kept as this sitting's own draft.
        Some(screen) => {
            if let Some(owner) = offered.owner {
                state.common.by = owner;
            }
            let by = state.common.by.clone();
            let draft = screen.draft().map(|draft| drafts::owned(&by, &draft));
            let drop = Effect::DropOffered(draft);
            Turn::step(super::screen::StackStep::Open(screen)).and(drop)
        }
        None => {
            let line = format!("Its batch is not in this journal: {}", offered.words);
            state.common.say(Tone::Pressing, line);
            state.common.offered = Some(offered);
            Turn::stay()
        }
    }
}

fn throw_out(state: &mut State) -> Turn {
    match state.common.offered.clone() {
        None => state
            .common
            .say(Tone::Plain, "Nothing was left unfinished."),
        Some(offered) => {
            let line = format!("Press x once more to drop: {}", offered.words);
            let drop = Effect::DropOffered(None);
            state.common.confirm(Command::ThrowOut, drop, line);
        }
    }
    Turn::stay()
}

/// Takes note that entries are on disk and in the book: says so, keeps them for undo, and tells the screen that wrote them.
pub fn recorded(state: &mut State, recorded: Recorded) -> Turn {
    let said = std::iter::once(recorded.sentence());
    let lines = said.chain(recorded.remarks).collect();
    state.common.note = Some(Notice::new(Tone::Done, lines));
    if recorded.undoes {
        if let Some(at) = state.common.last_own_act() {
            state.common.sitting.remove(at);
        }
        state.common.undone = true;
        return Turn::stay();
    }
    state.common.labels = recorded.codes;
    let done = SavedAct {
        ids: recorded.ids,
        summary: recorded.summary,
        by: state.common.by.clone(),
    };
    let (common, screen) = state.parts();
    let turn = screen.recorded(common, &done);
    state.common.sitting.push(done);
    turn
}

/// Chooses the first of the batches whose labels are shown, so that the next keys act on it.
pub fn choose_labelled(state: &mut State) {
    let (common, screen) = state.parts();
    let last = common.sitting.last().filter(|_| !common.labels.is_empty());
    let mut ids = last.into_iter().flat_map(|done| &done.ids);
    if let Some(batch) = ids.find(|id| common.book.batch(id).is_some()) {
        screen.choose(common, batch);
    }
}

/// Takes note that entries were not saved: says why, and the screen keeps what is typed.
pub fn refused(state: &mut State, refusal: Refusal) {
    let (common, screen) = state.parts();
    screen.refused(common, &refusal);
    common.note = Some(Notice::new(Tone::Pressing, refusal.lines));
}

/// The screen of a draft, filled as it was left; nothing if its batch is not there.
fn resume(draft: &str, common: &Common) -> Option<Box<dyn Screen>> {
    if let Some((of, _)) = drafts::saved(draft) {
        let of = Id::parse_reference(of)?;
        return Some(Box::new(resumed_amend(&of, "", common)?));
    }
    let parts: Vec<&str> = draft.split('\t').collect();
    let there = |key: &str| Id::parse_reference(key).filter(|key| common.book.batch(key).is_some());
    match parts.as_slice() {
        ["pad", key, text] => Some(Box::new(PadScreen::resumed(there(key)?, text, ""))),
        ["pad", key, text, again] => Some(Box::new(PadScreen::resumed(there(key)?, text, again))),
        ["amend", of, text] => {
            let of = Id::parse_reference(of)?;
            Some(Box::new(resumed_amend(&of, text, common)?))
        }
        ["right", key, look, text] => {
            let look = Id::parse_reference(look)?;
            Some(Box::new(PadScreen::putting_right(there(key)?, look, text)))
        }
        ["stick", text] => Some(Box::new(StickScreen::open(common).resumed(text))),
        [word, key, place, text, again @ ..] => {
            let again = again.first().copied().unwrap_or("");
            let command = drafts::command(word)?;
            let place = Some((*place).to_owned()).filter(|place| !place.is_empty());
            let subject = RecordingSubject {
                batch: there(key),
                place,
            };
            let line = LineScreen::open(command, subject)?.resumed(text);
            Some(Box::new(line.resumed_again(again)))
        }
        _ => None,
    }
}
