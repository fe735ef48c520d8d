//! Key presses, free of any terminal library, and the one table of keys: it drives the dispatch, the hint line and the
//! help page alike.
//! It must not decide what a command does.
//!
//! Rules, held by a test: a letter or sign asks for the same wherever it acts (a table in the test says what); within what is live together no key stands twice, letters are written in
//! lower case and match either case, every command can be reached, and each has its help.

use self::KeyPress::{Char, Ctrl};
use std::fmt;

/// Where a key is live. A screen names its own; those beneath it are live too, see [`KeyContext::layers`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum KeyContext {
    /// Every screen, even while a line is typed.
    Always,
    /// Every screen while nothing is typed into a field.
    Anywhere,
    /// Screens that list things, one of them chosen.
    List,
    /// The bench.
    Bench,
    /// While a line is typed.
    Field,
    /// The search.
    Search,
    /// A batch's life.
    Batch,
    /// The taxa.
    Taxa,
    /// The plants wanted and those in pots.
    Targets,
    /// Inside a taxon.
    Taxon,
    /// The look pad.
    Pad,
    /// The air of the places.
    Air,
    /// The look pad on a round.
    Round,
    /// The journal's own pages.
    Pages,
    /// The seasons.
    Seasons,
    /// The arms of a comparison.
    Arms,
    /// A season in review.
    Review,
    /// The help page.
    Help,
}

impl KeyContext {
    /// All contexts, in the order of the help page.
    pub const ALL: &'static [Self] = &[
        Self::Bench,
        Self::List,
        Self::Batch,
        Self::Taxa,
        Self::Targets,
        Self::Taxon,
        Self::Pad,
        Self::Round,
        Self::Field,
        Self::Search,
        Self::Air,
        Self::Pages,
        Self::Seasons,
        Self::Arms,
        Self::Review,
        Self::Help,
        Self::Anywhere,
        Self::Always,
    ];

    /// The contexts whose keys are live in this one, itself first.
    #[must_use]
    pub fn layers(self) -> &'static [Self] {
        match self {
            Self::Always => &[Self::Always],
            Self::Anywhere => &[Self::Anywhere, Self::Always],
            Self::List => &[Self::List, Self::Anywhere, Self::Always],
            Self::Bench => &[Self::Bench, Self::List, Self::Anywhere, Self::Always],
            Self::Batch => &[Self::Batch, Self::List, Self::Anywhere, Self::Always],
            Self::Taxa => &[Self::Taxa, Self::List, Self::Anywhere, Self::Always],
            Self::Targets => &[Self::Targets, Self::List, Self::Anywhere, Self::Always],
            Self::Taxon => &[Self::Taxon, Self::List, Self::Anywhere, Self::Always],
            Self::Field => &[Self::Field, Self::Always],
            Self::Search => &[Self::Search, Self::Field, Self::Always],
            Self::Pad => &[Self::Pad, Self::Field, Self::Always],
            Self::Air => &[Self::Air, Self::List, Self::Anywhere, Self::Always],
            Self::Round => &[Self::Round, Self::Pad, Self::Field, Self::Always],
            Self::Pages => &[Self::Pages, Self::List, Self::Anywhere, Self::Always],
            Self::Seasons => &[Self::Seasons, Self::List, Self::Anywhere, Self::Always],
            Self::Arms => &[Self::Arms, Self::List, Self::Anywhere, Self::Always],
            Self::Review => &[Self::Review, Self::List, Self::Anywhere, Self::Always],
            Self::Help => &[Self::Help, Self::List, Self::Anywhere, Self::Always],
        }
    }

    /// Its heading on the help page.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Self::Always => "Always, even while typing",
            Self::Anywhere => "Anywhere",
            Self::List => "In a list",
            Self::Bench => "On the bench",
            Self::Batch => "On a batch",
            Self::Taxa => "Among the taxa",
            Self::Targets => "Among the targets",
            Self::Taxon => "Inside a taxon",
            Self::Field => "While typing",
            Self::Search => "While searching",
            Self::Pad => "On the look pad",
            Self::Air => "In the air of the places",
            Self::Round => "On a round",
            Self::Pages => "On the journal's pages",
            Self::Seasons => "In the seasons",
            Self::Arms => "Among the arms of a trial",
            Self::Review => "On a season in review",
            Self::Help => "On this page",
        }
    }
}

/// What a key asks for. The compiler names a command that no row of the table gives: it is never constructed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[rustfmt::skip]
#[allow(missing_docs)] // What each does stands in the table, in words for the user.
pub enum Command {
    // The bench.
    Look, Order, Inside, Air,
    // A batch, the taxa.
    Grouping, Taxa, Band, Targets,
    // A list.
    Next, Previous, PageOn, PageBack, First, Last, Open,
    // Recording.
    Stick, Pot, Move, Climate, Treat, Note, Discard, Ready, Sold, Again, Line, Round, Undo, By,
    // Getting about.
    Find, Help, TakeUp, ThrowOut, Back, Quit, Suspend, Redraw,
    Pages, Seasons, Only, All, Trials,
    // The journal's pages.
    Amend, Withdraw, RightTray,
    // The seasons.
    Beside, Earlier, Later, Review,
    // The arms of a trial.
    Stage, Against,
    // While typing.
    Accept, Complete, ChooseNext, ChoosePrevious, Erase, Leave,
    // Mends.
    MendMore, MendUnseen, MendLost,
    // A round.
    Before,
}

/// A row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// Where it is live.
    pub context: KeyContext,
    /// What to press; the first is the one shown, the others are there for those who have them.
    pub presses: &'static [KeyPress],
    /// What it asks for.
    pub command: Command,
    /// Its word on the hint line; empty keeps it off that line.
    pub hint: &'static str,
    /// Its sentence on the help page.
    pub help: &'static str,
}

/// A row, so that the table reads as one.
const fn key(
    context: KeyContext,
    presses: &'static [KeyPress],
    command: Command,
    hint: &'static str,
    help: &'static str,
) -> Key {
    Key {
        context,
        presses,
        command,
        hint,
        help,
    }
}

/// The table. The hint line offers keys in this order as far as they fit.
#[rustfmt::skip]
pub const TABLE: &[Key] = &[
    key(KeyContext::Bench, &[KeyPress::Enter], Command::Look, "look", "Opens the look pad on the chosen batch."),
    key(KeyContext::Bench, &[Char('i')], Command::Inside, "", "Shows the chosen batch's life."),
    key(KeyContext::Bench, &[Char('o')], Command::Order, "", "Changes between the deciding order (failing, late, due first) and the walking order."),
    key(KeyContext::Bench, &[Char('%')], Command::Air, "", "Opens the air of the places: each day ^ drying, - easy or _ wet by its band, what was changed (m mist, v vent, s shade, u uncovered, n weaned, h heat, a water, c cleaned), and the losses found."),
    key(KeyContext::Bench, &[Char('k')], Command::Targets, "", "Shows the targets: what is in hand for each, how many to stick, and until when."),

    key(KeyContext::List, &[Char('.'), KeyPress::Down, KeyPress::Tab], Command::Next, "", "Chooses the next."),
    key(KeyContext::List, &[Char(','), KeyPress::Up, KeyPress::BackTab], Command::Previous, "", "Chooses the one before."),
    key(KeyContext::List, &[Char(' '), KeyPress::PageDown], Command::PageOn, "", "A page on."),
    key(KeyContext::List, &[Char('-'), KeyPress::PageUp], Command::PageBack, "", "A page back."),
    key(KeyContext::List, &[KeyPress::Home], Command::First, "", "The first."),
    key(KeyContext::List, &[KeyPress::End], Command::Last, "", "The last."),
    key(KeyContext::List, &[KeyPress::Enter, KeyPress::Right], Command::Open, "open", "Opens what is chosen."),

    key(KeyContext::Batch, &[KeyPress::Enter], Command::Look, "look", "Opens the look pad on this batch."),
    key(KeyContext::Batch, &[Char('e')], Command::Amend, "amend", "Amends the chosen entry by a later line; what was written stays."),
    key(KeyContext::Batch, &[Char('!')], Command::Withdraw, "withdraw", "Withdraws the chosen entry, at the second press; it stays on the journal's pages."),
    key(KeyContext::Batch, &[Char('@')], Command::RightTray, "right tray", "Puts the chosen entry, with what was entered in one act with it, to the tray that it is of."),
    key(KeyContext::Batch, &[Char('i')], Command::Inside, "in full", "Tells all that the figures say of this batch: what is wrong, what to do, how others of its kind did, what to expect."),
    key(KeyContext::Taxa, &[Char('o')], Command::Grouping, "group by", "Changes what the figures are grouped by: wood stage, season, place and so on."),
    key(KeyContext::Taxa, &[Char('k')], Command::Targets, "targets", "Shows the targets: what is in hand for each, how many to stick, and until when."),
    key(KeyContext::Targets, &[Char('o')], Command::Order, "in pots", "Shows the plants in pots first, or the targets."),
    key(KeyContext::Taxon, &[Char('o')], Command::Band, "band of", "Draws the band of callused, rooted or to bottom in turn: the range in which the curve lies, 95 % sure of each day by itself."),

    key(KeyContext::Round, &[KeyPress::Enter], Command::Accept, "save", "Saves the look and goes on; with nothing typed, passes on."),
    key(KeyContext::Round, &[Char('-'), KeyPress::PageUp], Command::Before, "back", "Goes back to the batch before."),

    key(KeyContext::Pad, &[KeyPress::Enter], Command::Accept, "save", "Saves the look; with nothing typed, goes back."),
    key(KeyContext::Pad, &[Char('?')], Command::Help, "signs", "Shows what the pad understands, and the keys."),
    key(KeyContext::Pad, &[Char('=')], Command::MendMore, "", "On the empty line, amends the batch's last look. Where you counted more than there should be, amends the number stuck as well."),
    key(KeyContext::Pad, &[Char('.')], Command::MendUnseen, "unseen", "The rest was not looked at."),
    key(KeyContext::Pad, &[Char('/')], Command::MendLost, "lost", "The rest is lost, cause unknown."),

    key(KeyContext::Field, &[KeyPress::Enter], Command::Accept, "save", "Does what the line says."),
    key(KeyContext::Field, &[Char('='), KeyPress::Tab], Command::Complete, "take word", "Takes the word or the amendment offered."),
    key(KeyContext::Field, &[Char('?')], Command::Help, "help", "Shows the keys, while nothing is typed; on the look pad always."),
    key(KeyContext::Field, &[KeyPress::Down], Command::ChooseNext, "", "The next word offered."),
    key(KeyContext::Field, &[KeyPress::Up], Command::ChoosePrevious, "", "The word offered before."),
    key(KeyContext::Field, &[KeyPress::Backspace], Command::Erase, "erase, back", "Erases a letter; on an empty line, goes back."),
    key(KeyContext::Field, &[KeyPress::Esc], Command::Leave, "", "Empties the line, and = fills it as it was; on an empty line, goes back."),

    key(KeyContext::Search, &[KeyPress::Enter], Command::Accept, "open", "Opens what is chosen; where a code was scanned, the look pad on its batch."),
    key(KeyContext::Search, &[Char('='), KeyPress::Tab], Command::Complete, "next", "Chooses the next."),
    key(KeyContext::Search, &[KeyPress::Down], Command::ChooseNext, "", "Chooses the next."),
    key(KeyContext::Search, &[KeyPress::Up], Command::ChoosePrevious, "", "Chooses the one before."),

    key(KeyContext::Air, &[Char('<')], Command::Earlier, "earlier", "Goes four weeks back."),
    key(KeyContext::Air, &[Char('>')], Command::Later, "later", "Goes four weeks on."),

    key(KeyContext::Pages, &[Char('e')], Command::Amend, "amend", "Amends the chosen entry by a later line; what was written stays."),
    key(KeyContext::Pages, &[Char('!')], Command::Withdraw, "withdraw", "Withdraws the chosen entry, at the second press; it stays on these pages."),
    key(KeyContext::Pages, &[Char('@')], Command::RightTray, "right tray", "Puts the chosen entry, with what was entered in one act with it, to the tray that it is of."),
    key(KeyContext::Pages, &[Char('i')], Command::Inside, "", "Goes to the chosen entry's batch."),

    key(KeyContext::Seasons, &[KeyPress::Enter, KeyPress::Right], Command::Open, "batches", "Opens the batches stuck in the chosen week, each with its losses and the dry, wet and hot days that it stood through."),
    key(KeyContext::Seasons, &[Char('o')], Command::Beside, "compare", "Puts the season before beside it, both up to this day of the year; once more removes it."),
    key(KeyContext::Seasons, &[Char('<')], Command::Earlier, "earlier", "Goes to the season before."),
    key(KeyContext::Seasons, &[Char('>')], Command::Later, "later", "Goes to the season after."),
    key(KeyContext::Seasons, &[Char('i')], Command::Review, "review", "Tells the season in words: its targets, what came of each plant, what to change for the next."),

    key(KeyContext::Review, &[KeyPress::Enter, KeyPress::Right], Command::Open, "batches", "Opens the batches that the chosen paragraph is about, each with its losses and the dry, wet and hot days that it stood through."),
    key(KeyContext::Review, &[Char('<')], Command::Earlier, "earlier", "Goes to the review of the season before."),
    key(KeyContext::Review, &[Char('>')], Command::Later, "later", "Goes to the review of the season after."),

    key(KeyContext::Arms, &[KeyPress::Enter, KeyPress::Right], Command::Open, "open", "Opens the chosen arm's batches, or those left out."),
    key(KeyContext::Arms, &[Char('i')], Command::Inside, "in full", "Tells all that the figures say of every two arms."),
    key(KeyContext::Arms, &[Char('o')], Command::Stage, "stage", "Changes between rooted, callused and to bottom."),
    key(KeyContext::Arms, &[Char('~')], Command::Against, "against", "Compares the chosen arm with the next of the others, which is marked ~."),

    key(KeyContext::Anywhere, &[Char('s')], Command::Stick, "stick", "Sticks a batch; what you do not type is as in today's last."),
    key(KeyContext::Anywhere, &[Char('p')], Command::Pot, "pot", "Pots from the batch; in the same act the rest is kept, given up or stuck again."),
    key(KeyContext::Anywhere, &[Char('w')], Command::Round, "round", "Begins a round at this place: the look pad opens on batch after batch."),
    key(KeyContext::Anywhere, &[Char('c')], Command::Climate, "climate", "Notes the air and the medium at this place."),
    key(KeyContext::Anywhere, &[Char('h'), Char('?')], Command::Help, "help", "Shows the keys."),
    key(KeyContext::Anywhere, &[Char('f'), Char('/')], Command::Find, "find", "Finds a batch by any part of its name, code or place, and what was noted or who entered it."),
    key(KeyContext::Anywhere, &[Char('u')], Command::Undo, "undo", "Undoes the last act of this sitting: says what it was, and withdraws it at the second press."),
    key(KeyContext::Anywhere, &[Char('m')], Command::Move, "move", "Moves the batch, or a part of it."),
    key(KeyContext::Anywhere, &[Char('a'), Char('+')], Command::Again, "look again", "Sets a day on which to look again; or lays a place to rest."),
    key(KeyContext::Anywhere, &[Char('d')], Command::Discard, "discard", "Discards cuttings or plants."),
    key(KeyContext::Anywhere, &[Char('r')], Command::Ready, "saleable", "Counts plants that have become saleable."),
    key(KeyContext::Anywhere, &[Char('g')], Command::Sold, "sold", "Counts plants sold."),
    key(KeyContext::Anywhere, &[Char('t')], Command::Treat, "treat", "Notes a treatment of the batch or its place."),
    key(KeyContext::Anywhere, &[Char('n')], Command::Note, "remark", "Writes a remark."),
    key(KeyContext::Anywhere, &[Char('l'), Char(';')], Command::Line, "line", "Takes any entry as a typed line, and shows how it is understood."),
    key(KeyContext::Anywhere, &[Char('j')], Command::Pages, "journal", "Opens the journal's pages: every entry, newest first, and what is wrong with any line."),
    key(KeyContext::Anywhere, &[Char('y')], Command::Seasons, "seasons", "Opens the seasons, week by week."),
    key(KeyContext::Anywhere, &[Char('*')], Command::Only, "only", "Narrows every screen to a taxon, wood stage, place, season or trial, until you change it."),
    key(KeyContext::Anywhere, &[Char('#')], Command::All, "", "Shows all batches: drops what * narrowed."),
    key(KeyContext::Anywhere, &[Char('v')], Command::Taxa, "taxa", "Shows every taxon with its rooted % and days."),
    key(KeyContext::Anywhere, &[Char('=')], Command::Trials, "compare", "Compares arms: trials, wood stages, seasons, places; among the taxa, within the chosen taxon."),
    key(KeyContext::Anywhere, &[Char('b')], Command::By, "who", "Sets who is entering."),
    key(KeyContext::Anywhere, &[Char('z')], Command::TakeUp, "", "Goes on with the entry that was left unfinished."),
    key(KeyContext::Anywhere, &[Char('x')], Command::ThrowOut, "", "Drops that entry, at the second press."),
    key(KeyContext::Anywhere, &[KeyPress::Backspace, KeyPress::Esc, KeyPress::Left], Command::Back, "back", "Goes back."),
    key(KeyContext::Anywhere, &[Char('q')], Command::Quit, "quit", "Ends struck; what is unfinished is kept."),

    key(KeyContext::Always, &[Ctrl('c')], Command::Quit, "", "Ends struck; what is unfinished is kept."),
    key(KeyContext::Always, &[Ctrl('z')], Command::Suspend, "", "Stops struck until the shell's `fg`."),
    key(KeyContext::Always, &[Ctrl('l')], Command::Redraw, "", "Draws the screen anew."),
];

/// The command that a press asks for in a context, if any.
#[must_use]
pub fn command(context: KeyContext, press: KeyPress) -> Option<Command> {
    let press = press.folded();
    let layers = context.layers().iter();
    let mut rows = layers.flat_map(|layer| TABLE.iter().filter(move |row| row.context == *layer));
    rows.find(|row| row.presses.contains(&press))
        .map(|row| row.command)
}

/// The rows live in a context, the narrowest first; a row whose shown key a narrower one takes is
/// left out, as is a second row of one command.
#[must_use]
pub fn live(context: KeyContext) -> Vec<&'static Key> {
    let mut out: Vec<&Key> = Vec::new();
    for layer in context.layers() {
        for row in TABLE.iter().filter(|row| row.context == *layer) {
            let reached = command(context, row.presses[0]) == Some(row.command);
            if reached && out.iter().all(|held| held.command != row.command) {
                out.push(row);
            }
        }
    }
    out
}

/// One press of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KeyPress {
    /// A character, as typed.
    Char(char),
    /// A character with the control key held, in lower case.
    Ctrl(char),
    /// Enter.
    Enter,
    /// Backspace.
    Backspace,
    /// Delete.
    Delete,
    /// Tab.
    Tab,
    /// Tab with shift.
    BackTab,
    /// Escape.
    Esc,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// Arrow left.
    Left,
    /// Arrow right.
    Right,
    /// Home.
    Home,
    /// End.
    End,
    /// Page up.
    PageUp,
    /// Page down.
    PageDown,
}

impl KeyPress {
    /// The press as the key table knows it: letters in lower case, since a phone's keyboard
    /// writes a capital when it pleases.
    #[must_use]
    pub fn folded(self) -> Self {
        match self {
            Self::Char(c) => Self::Char(c.to_lowercase().next().unwrap_or(c)),
            other => other,
        }
    }

    /// The character, if it is one.
    #[must_use]
    pub fn char(self) -> Option<char> {
        match self {
            Self::Char(c) => Some(c),
            _ => None,
        }
    }
}

/// The spelling of keys that are no character.
const SPELLED: &[(KeyPress, &str)] = &[
    (KeyPress::Enter, "Enter"),
    (KeyPress::Backspace, "Backspace"),
    (KeyPress::Delete, "Delete"),
    (KeyPress::Tab, "Tab"),
    (KeyPress::BackTab, "Shift-Tab"),
    (KeyPress::Esc, "Esc"),
    (KeyPress::Up, "Up"),
    (KeyPress::Down, "Down"),
    (KeyPress::Left, "Left"),
    (KeyPress::Right, "Right"),
    (KeyPress::Home, "Home"),
    (KeyPress::End, "End"),
    (KeyPress::PageUp, "PageUp"),
    (KeyPress::PageDown, "PageDown"),
    (KeyPress::Char(' '), "Space"),
];

impl fmt::Display for KeyPress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((_, word)) = SPELLED.iter().find(|(press, _)| press == self) {
            return f.write_str(word);
        }
        match self {
            Self::Ctrl(c) => write!(f, "Ctrl-{}", c.to_uppercase()),
            Self::Char(c) => write!(f, "{c}"),
            _ => Ok(()),
        }
    }
}
