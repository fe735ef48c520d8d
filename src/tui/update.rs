//! State and message to new state and effects; pure. It draws nothing and does nothing outside.
//!
//! What is saved is said to be saved as soon as it is on disk; in a large journal the book that holds it comes a second
//! later. Keys typed meanwhile are held until then, in order: the next code, the counts that a look starts from, the next
//! batch of a round, what undo takes back and what was cautioned are all read from the book, so that one rule keeps all of
//! them right. The screen that wrote hears of it with the new book too.

use super::batch::BatchScreen;
use super::canvas::Tone;
use super::common::{CutPaste, Notice, Unfinished};
use super::effect::{Effect, Message};
use super::keys::KeyPress;
use super::keys::{Command, KeyContext};
use super::pad::PadScreen;
use super::pages::JournalScreen;
use super::record::drafts;
use super::screen::{StackStep, State, Turn, Typed, Writing};
use super::{acts, keys};
use crate::model::id::Id;

/// So many letters at one moment outside a field are a burst: nobody typed them as commands.
const BURST: usize = 4;

/// Changes the state by one message, and gives the effects that this asks for.
pub fn update(state: &mut State, message: Message) -> Vec<Effect> {
    let mut effects = Vec::new();
    match message {
        Message::Presses(presses) => state.held.push_back(Typed::Presses(presses)),
        Message::Paste(text) => state.held.push_back(Typed::Paste(text)),
        Message::Size(columns, rows) => {
            state.common.size = (columns, rows);
            refresh(state, &mut effects);
        }
        Message::Now(now) => {
            let another_day = now.date_naive() != state.common.now.date_naive();
            state.common.now = now;
            if another_day {
                state.common.turn_over();
                refresh(state, &mut effects);
            }
        }
        Message::Snapshot(snapshot) => {
            state.common.book = snapshot.book;
            state.common.vocabulary = snapshot.vocabulary;
            state.common.files = snapshot.files;
            state.common.unread = snapshot.unread;
            state.common.turn_over();
            refresh(state, &mut effects);
        }
        Message::OnDisk(recorded) => {
            state.writing = Writing::OnDisk;
            state.common.say(Tone::Done, recorded.sentence());
            effects.push(Effect::WorkIn(recorded));
        }
        Message::Recorded(recorded) => {
            state.writing = Writing::Nothing;
            let turn = acts::recorded(state, recorded);
            take(state, turn, &mut effects);
            acts::choose_labelled(state);
        }
        Message::Refused(refusal) => {
            state.writing = Writing::Nothing;
            acts::refused(state, refusal);
        }
        Message::Answer(answer) => {
            let (common, screens) = state.each();
            for (_, screen) in screens {
                screen.answered(common, &answer);
            }
        }
        Message::Raw(origin, bytes) => {
            let (_, screens) = state.each();
            for (_, screen) in screens {
                screen.raw(origin, bytes.as_deref());
            }
        }
        Message::Offered(draft) => {
            let (owner, draft) = drafts::owner(&draft);
            state.common.offered = Some(Unfinished {
                words: drafts::words(draft, &state.common),
                owner: owner.map(str::to_owned),
                draft: draft.to_owned(),
            });
        }
        Message::Trouble(line) => {
            state.common.note = Some(Notice::new(Tone::Pressing, vec![line]));
        }
    }
    hear(state, &mut effects);
    effects.extend(state.left().into_iter().map(Effect::Left));
    effects
}

/// Tells every screen that what it shows may have changed.
pub(super) fn refresh(state: &mut State, effects: &mut Vec<Effect>) {
    let (common, screens) = state.each();
    for (number, screen) in screens {
        // Only a wish for figures makes sense here: a screen beneath must not move the stack.
        let wished = screen.refreshed(common).effects;
        effects.extend(wished.into_iter().map(asked_by(number)));
    }
}

/// Takes what was typed, up to a key that writes.
fn hear(state: &mut State, effects: &mut Vec<Effect>) {
    loop {
        if effects.iter().any(Effect::writes) {
            state.writing = Writing::Asked;
        }
        if state.writing != Writing::Nothing {
            return;
        }
        match state.held.pop_front() {
            None => return,
            Some(Typed::Presses(presses)) => press_all(state, &presses, effects),
            Some(Typed::Paste(text)) => match text.strip_suffix(['\r', '\n']) {
                Some(line) if takes_scan(state, line) => take_scan(state, line, effects),
                _ => paste(state, &text, effects),
            },
        }
    }
}

/// Presses one after the other; those after one that writes are held.
fn press_all(state: &mut State, presses: &[KeyPress], effects: &mut Vec<Effect>) {
    let mut rest = presses;
    while let Some((first, after)) = rest.split_first() {
        if effects.iter().any(Effect::writes) {
            state.held.push_front(Typed::Presses(rest.to_vec()));
            return;
        }
        if let Some((text, after)) = scanned(rest)
            && takes_scan(state, &text)
        {
            rest = after;
            take_scan(state, &text, effects);
            continue;
        }
        let burst = burst(rest);
        if burst.len() >= BURST && !is_typing(state) {
            let text: String = burst.iter().filter_map(|press| press.char()).collect();
            rest = &rest[burst.len()..];
            paste(state, &text, effects);
        } else {
            rest = after;
            press(state, *first, effects);
        }
    }
}

/// What a scanner typed at the front, with what comes after it: a burst with a digit in it that ends in Enter. Nobody
/// types so much at one moment, and no letter in it is a command.
fn scanned(presses: &[KeyPress]) -> Option<(String, &[KeyPress])> {
    let end = presses.iter().position(|press| press.char().is_none())?;
    let text: String = presses[..end]
        .iter()
        .filter_map(|press| press.char())
        .collect();
    let is_scan = end >= BURST && text.contains(|c: char| c.is_ascii_digit());
    (is_scan && presses[end] == KeyPress::Enter).then(|| (text, &presses[end + 1..]))
}

/// Whether a scan is none of the text in hand: nothing is typed now, or a look is, and it is the whole code of a batch.
fn takes_scan(state: &State, text: &str) -> bool {
    let on_pad = || state.top().context().layers().contains(&KeyContext::Pad);
    // A phone that sends late sends counts in one burst too: a code has more in it than figures.
    let coded = || text.contains(|c: char| !c.is_ascii_digit() && c != ' ');
    let borne = || state.common.book.by_code(text.trim()).next().is_some();
    !is_typing(state) || on_pad() && coded() && borne()
}

/// The code of an open batch opens its look pad, above a look that is being typed; any other scan is a search.
fn take_scan(state: &mut State, text: &str, effects: &mut Vec<Effect>) {
    let on_pad = is_typing(state);
    let here = state.top().subject(&state.common).batch;
    match state.common.open_batch(text) {
        Some(batch) if on_pad && here.as_ref() == Some(&batch) => {
            let line = format!("This is the pad of {}.", text.trim());
            state.common.say(Tone::Plain, line);
        }
        Some(batch) => {
            state.common.asked = None;
            state.common.note = None;
            let kept = state.top().draft().filter(|_| on_pad);
            take(state, Turn::open(PadScreen::new(batch)), effects);
            if let Some(kept) = kept {
                let words = drafts::words(&kept, &state.common);
                let line = format!("Not saved yet, it waits below: {words}");
                state.common.say(Tone::Pressing, line);
            }
        }
        None if on_pad => {
            let line = format!(
                "{} is closed: nothing of it is left to look at.",
                text.trim()
            );
            state.common.say(Tone::Pressing, line);
        }
        None => paste(state, text, effects),
    }
}

/// The letters at the front, with the spaces between them.
fn burst(presses: &[KeyPress]) -> &[KeyPress] {
    let lettered = |press: &KeyPress| press.char().is_some_and(|c| c.is_alphabetic() || c == ' ');
    let end = presses.iter().position(|press| !lettered(press));
    &presses[..end.unwrap_or(presses.len())]
}

/// Whether letters go into a field now.
fn is_typing(state: &State) -> bool {
    !state
        .top()
        .context()
        .layers()
        .contains(&KeyContext::Anywhere)
}

/// A paste goes into the field, or else is a search: never commands.
fn paste(state: &mut State, text: &str, effects: &mut Vec<Effect>) {
    state.common.asked = None;
    if !is_typing(state) {
        go(state, Command::Find, effects);
    }
    let (common, screen) = state.parts();
    let room = screen.paste_room();
    let fits = fitting(text, room);
    if fits.len() < text.len() {
        let (pasted, taken) = (text.chars().count(), fits.chars().count());
        common.cut_paste = Some(CutPaste { pasted, taken });
    }
    let turn = screen.paste(common, fits);
    take(state, turn, effects);
}

/// As much of a text as so many bytes hold.
fn fitting(text: &str, room: usize) -> &str {
    let ends = text.char_indices().map(|(at, c)| at + c.len_utf8());
    let end = ends.take_while(|end| *end <= room).last();
    text.get(..end.unwrap_or(0)).unwrap_or_default()
}

fn press(state: &mut State, press: KeyPress, effects: &mut Vec<Effect>) {
    let asked = state.common.asked.take();
    state.common.note = None;
    state.common.labels.clear();
    let context = state.top().context();
    let command = keys::command(context, press);
    state.common.undone &= command == Some(Command::Undo);
    if command == Some(Command::Accept)
        && let Some(cut) = state.common.cut_paste.take()
    {
        // Nothing is saved that is not what was pasted, until the person has said so.
        state.common.say(Tone::Pressing, cut.sentence());
        return;
    }
    match (asked, command) {
        (Some(asked), Some(command)) if asked.command == command => {
            if command == Command::ThrowOut {
                state.common.offered = None;
            }
            effects.push(asked.effect);
        }
        // Any other key leaves it, and is used up by that.
        (Some(_), _) => {}
        // In a field a sign whose command would do nothing is the sign.
        (None, Some(command)) if is_typing(state) && is_sign(state, command, press) => {
            typed(state, press, effects);
        }
        (None, Some(command)) => carry_out(state, command, effects),
        (None, None) => typed(state, press, effects),
    }
}

fn is_sign(state: &State, command: Command, press: KeyPress) -> bool {
    let screen = state.top();
    let is_text = command == Command::Help && !screen.typed_text().is_empty();
    press.char().is_some() && (is_text || screen.is_idle(&state.common, command))
}

fn typed(state: &mut State, press: KeyPress, effects: &mut Vec<Effect>) {
    let (common, screen) = state.parts();
    let turn = screen.press(common, press);
    take(state, turn, effects);
}

fn carry_out(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    let (common, screen) = state.parts();
    let own = !acts::is_global(command) || screen.claims(command);
    let turn = if own {
        screen.command(common, command)
    } else {
        screen.interrupted();
        return go(state, command, effects);
    };
    take(state, turn, effects);
}

/// Carries out a command that works from anywhere.
fn go(state: &mut State, command: Command, effects: &mut Vec<Effect>) {
    let turn = acts::go(state, command);
    take(state, turn, effects);
}

/// A question with the number of the screen that asks it, so that a later one of the same screen takes its place.
fn asked_by(screen: usize) -> impl Fn(Effect) -> Effect {
    move |effect| match effect {
        Effect::Ask(question) => Effect::Ask(question.by(screen)),
        other => other,
    }
}

/// Carries out what a screen wants.
fn take(state: &mut State, turn: Turn, effects: &mut Vec<Effect>) {
    let asks = asked_by(state.number());
    effects.extend(turn.effects.into_iter().map(asks));
    match turn.step {
        None => {}
        Some(StackStep::Open(screen)) => state.push(screen),
        Some(StackStep::Back) => {
            state.pop();
        }
        Some(StackStep::Done(done)) => {
            state.pop();
            let (common, screen) = state.parts();
            let turn = screen.recorded(common, &done);
            return take(state, turn, effects);
        }
        Some(StackStep::Found(batch)) => found(state, &batch),
        Some(StackStep::Instead(screen)) => state.replace(screen),
        Some(StackStep::Seek(words)) => state.replace(Box::new(JournalScreen::seeking(&words))),
        Some(StackStep::Do(command)) => return go(state, command, effects),
    }
    // Another may be on top now, or the filter changed.
    let asks = asked_by(state.number());
    let (common, screen) = state.parts();
    let woken = screen.refreshed(common);
    effects.extend(woken.effects.into_iter().map(asks));
}

/// Leaves the search for the page of the batch that was found, open or closed; the list beneath shows it, if it can.
fn found(state: &mut State, batch: &Id) {
    state.pop();
    let (common, screen) = state.parts();
    let shows = screen.choose(common, batch);
    let is_there = shows && screen.context() == KeyContext::Batch;
    if !is_there {
        state.push(Box::new(BatchScreen::new(batch.clone())));
    }
}
