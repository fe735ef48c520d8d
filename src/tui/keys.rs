//! The one table of keys: it drives the dispatch, the hint line and the help page alike.
//! It must not decide what a command does.
//!
//! Rules, held by a test: within what is live together no key stands twice, letters are written in
//! lower case and match either case, every command can be reached, and each has its help.

use super::press::Press::{self, Char, Ctrl};

/// Where a key is live. A screen names its own; those beneath it are live too, see [`Context::layers`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Context {
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
    /// A batch's life.
    Batch,
    /// The taxa.
    Taxa,
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

impl Context {
    /// All contexts, in the order of the help page.
    pub const ALL: &'static [Self] = &[
        Self::Bench,
        Self::List,
        Self::Batch,
        Self::Taxa,
        Self::Taxon,
        Self::Pad,
        Self::Round,
        Self::Field,
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
            Self::Taxon => &[Self::Taxon, Self::List, Self::Anywhere, Self::Always],
            Self::Field => &[Self::Field, Self::Always],
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
            Self::Taxon => "Inside a taxon",
            Self::Field => "While typing",
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

/// Defines the commands and the list of all.
macro_rules! commands {
    ($($command:ident,)*) => {
        /// What a key asks for.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[allow(missing_docs)] // What each does stands in the table, in words for the user.
        pub enum Command { $($command,)* }

        impl Command {
            /// All commands.
            pub const ALL: &'static [Self] = &[$(Self::$command,)*];
        }
    };
}

commands! {
    // The bench.
    Look, Order, Inside, Air,
    // A batch, the taxa.
    Grouping, Taxa, Band, Targets,
    // A list.
    Next, Previous, PageOn, PageBack, First, Last, Open,
    // Recording.
    Stick, Pot, Move, Climate, Treat, Note, Discard, Ready, Gone, Again, Line, Walk, Undo, By,
    // Getting about.
    Find, Help, TakeUp, ThrowOut, Back, Quit, Suspend, Redraw,
    Pages, Seasons, Only, All, Trials,
    // The journal's pages.
    Amend, TakeBack,
    // The seasons.
    Beside, Earlier, Later, Review,
    // The arms of a trial.
    Stage, Against,
    // While typing.
    Accept, Complete, ChooseNext, ChoosePrevious, Erase, Leave,
    // Mends.
    MendMore, MendUnseen, MendGone,
    // A round.
    Before,
}

/// A row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// Where it is live.
    pub context: Context,
    /// What to press; the first is the one shown, the others are there for those who have them.
    pub presses: &'static [Press],
    /// What it asks for.
    pub command: Command,
    /// Its word on the hint line; empty keeps it off that line.
    pub hint: &'static str,
    /// Its sentence on the help page.
    pub help: &'static str,
}

/// A row, so that the table reads as one.
const fn key(
    context: Context,
    presses: &'static [Press],
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

use Command as C;
use Context as X;

/// The table. The hint line offers keys in this order as far as they fit.
#[rustfmt::skip]
pub const TABLE: &[Key] = &[
    key(X::Bench, &[Press::Enter], C::Look, "look", "Opens the look pad on the chosen batch."),
    key(X::Bench, &[Char('i')], C::Inside, "", "Shows the chosen batch's life."),
    key(X::Bench, &[Char('o')], C::Order, "", "Changes between the deciding order (failing, due, late first) and the walking order."),
    key(X::Bench, &[Char('e')], C::Air, "", "Opens the air of the places: each day ^ drying, - easy or _ wet by its band, what was changed (m mist, v vent, s shade, u uncovered, n weaned, h heat, a water, c cleaned), and the losses found."),
    key(X::Bench, &[Char('k')], C::Targets, "", "Shows the plants wanted by a day: what is in hand and how many to stick, until when."),

    key(X::List, &[Char('.'), Press::Down, Press::Tab], C::Next, "", "Chooses the next."),
    key(X::List, &[Char(','), Press::Up, Press::BackTab], C::Previous, "", "Chooses the one before."),
    key(X::List, &[Char(' '), Press::PageDown], C::PageOn, "", "A page on."),
    key(X::List, &[Char('-'), Press::PageUp], C::PageBack, "", "A page back."),
    key(X::List, &[Press::Home], C::First, "", "The first."),
    key(X::List, &[Press::End], C::Last, "", "The last."),
    key(X::List, &[Press::Enter, Press::Right], C::Open, "open", "Opens what is chosen."),

    key(X::Batch, &[Char('e')], C::Look, "look", "Opens the look pad on this batch."),
    key(X::Batch, &[Char('k')], C::TakeBack, "take back", "Withdraws the chosen entry, at the second press; it stays on the journal's pages. Enter amends it."),
    key(X::Taxa, &[Char('o')], C::Grouping, "group by", "Changes what the figures are grouped by: wood stage, season, place and so on."),
    key(X::Taxa, &[Char('k')], C::Targets, "wanted", "Shows the plants wanted by a day: what is in hand and how many to stick, until when."),
    key(X::Taxon, &[Char('o')], C::Band, "band of", "Draws the band of another milestone: the range in which its curve lies, 95 % sure of each day by itself."),

    key(X::Round, &[Press::Enter], C::Accept, "save", "Saves the look and goes on; with nothing typed, passes on."),
    key(X::Round, &[Char('-'), Press::PageUp], C::Before, "back", "Goes back to the batch before."),

    key(X::Pad, &[Press::Enter], C::Accept, "save", "Saves the look; with nothing typed, goes back."),
    key(X::Pad, &[Char('=')], C::MendMore, "", "More counted than there should be: the number stuck is put right with the look."),
    key(X::Pad, &[Char('.')], C::MendUnseen, "unseen", "The rest was not looked at."),
    key(X::Pad, &[Char('/')], C::MendGone, "gone", "The rest is gone, cause unknown."),

    key(X::Field, &[Press::Enter], C::Accept, "save", "Does what the line says."),
    key(X::Field, &[Char('='), Press::Tab], C::Complete, "take word", "Takes the word offered, or the mend."),
    key(X::Field, &[Press::Down], C::ChooseNext, "", "The next word offered."),
    key(X::Field, &[Press::Up], C::ChoosePrevious, "", "The word offered before."),
    key(X::Field, &[Press::Backspace], C::Erase, "erase, back", "Erases a letter; on an empty line, goes back."),
    key(X::Field, &[Press::Esc], C::Leave, "", "Empties the line, which = puts back; on an empty line, goes back."),

    key(X::Air, &[Char('e')], C::Earlier, "earlier", "Goes four weeks back."),
    key(X::Air, &[Char('o')], C::Later, "later", "Goes four weeks on."),

    key(X::Pages, &[Char('e')], C::Amend, "amend", "Amends the chosen entry by a later line; what was written stays."),
    key(X::Pages, &[Char('k')], C::TakeBack, "take back", "Withdraws the chosen entry, at the second press; it stays on these pages."),
    key(X::Pages, &[Char('i')], C::Inside, "", "Goes to the chosen entry's batch."),

    key(X::Seasons, &[Press::Enter], C::Beside, "compare", "Puts the season before beside it, both to this day of the year; again takes it away."),
    key(X::Seasons, &[Char('e')], C::Earlier, "earlier", "Goes to the season before."),
    key(X::Seasons, &[Char('o')], C::Later, "later", "Goes to the season after."),
    key(X::Seasons, &[Char('i')], C::Review, "review", "Tells the season in words: what was wanted, what came of each, what to change for the next."),

    key(X::Review, &[Char('e')], C::Earlier, "earlier", "Goes to the review of the season before."),
    key(X::Review, &[Char('o')], C::Later, "later", "Goes to the review of the season after."),

    key(X::Arms, &[Press::Enter, Press::Right], C::Open, "open", "Opens the chosen arm's batches, or those left out."),
    key(X::Arms, &[Char('i')], C::Inside, "in full", "Tells all that the figures say, of every two arms."),
    key(X::Arms, &[Char('o')], C::Stage, "stage", "Changes between rooted, callused and roots at bottom."),
    key(X::Arms, &[Char('e')], C::Against, "against", "Holds the chosen arm against the next of the others, marked ~."),

    key(X::Anywhere, &[Char('s')], C::Stick, "stick", "Sticks a batch, all else as today's last."),
    key(X::Anywhere, &[Char('p')], C::Pot, "pot", "Pots from the batch: all in one act with the rest kept, given up or stuck again."),
    key(X::Anywhere, &[Char('w')], C::Walk, "walk", "Begins a round at this place: the look pad opens on batch after batch."),
    key(X::Anywhere, &[Char('c')], C::Climate, "climate", "Notes the air and the medium at this place."),
    key(X::Anywhere, &[Char('h'), Char('?')], C::Help, "help", "Shows the keys."),
    key(X::Anywhere, &[Char('f'), Char('/')], C::Find, "find", "Finds a batch by any part of its name."),
    key(X::Anywhere, &[Char('u')], C::Undo, "undo", "Takes back the last entry of this sitting, once you have seen what it is."),
    key(X::Anywhere, &[Char('m')], C::Move, "move", "Moves the batch, or a part of it."),
    key(X::Anywhere, &[Char('a'), Char('+')], C::Again, "again", "Asks to look again in so many days."),
    key(X::Anywhere, &[Char('d')], C::Discard, "discard", "Throws out cuttings or plants."),
    key(X::Anywhere, &[Char('r')], C::Ready, "ready", "Counts plants fit for sale."),
    key(X::Anywhere, &[Char('g')], C::Gone, "gone", "Counts plants sold."),
    key(X::Anywhere, &[Char('t')], C::Treat, "treat", "Notes a treatment of the batch or its place."),
    key(X::Anywhere, &[Char('n')], C::Note, "note", "Writes a remark."),
    key(X::Anywhere, &[Char('l'), Char(';')], C::Line, "line", "Takes any entry as a typed line, reading along."),
    key(X::Anywhere, &[Char('j')], C::Pages, "journal", "Opens the journal's pages: every entry, newest first, and what is wrong with any line."),
    key(X::Anywhere, &[Char('y')], C::Seasons, "seasons", "Opens the seasons, week by week."),
    key(X::Anywhere, &[Char('*')], C::Only, "only", "Narrows every screen to a taxon, wood, place, season or trial, until it is changed."),
    key(X::Anywhere, &[Char('#')], C::All, "", "Takes all batches again: drops what * narrowed."),
    key(X::Anywhere, &[Char('v')], C::Taxa, "taxa", "Shows every taxon with its strike and days."),
    key(X::Anywhere, &[Char('=')], C::Trials, "compare", "Compares ways of doing it: trials, wood stages, seasons, places; among the taxa, within the chosen taxon."),
    key(X::Anywhere, &[Char('b')], C::By, "who", "Says who is entering."),
    key(X::Anywhere, &[Char('z')], C::TakeUp, "", "Takes up the entry that was left unfinished."),
    key(X::Anywhere, &[Char('x')], C::ThrowOut, "", "Throws that entry out, at the second press."),
    key(X::Anywhere, &[Press::Backspace, Press::Esc, Press::Left], C::Back, "back", "Goes back."),
    key(X::Anywhere, &[Char('q')], C::Quit, "quit", "Ends struck; what is unfinished is kept."),

    key(X::Always, &[Ctrl('c')], C::Quit, "", "Ends struck; what is unfinished is kept."),
    key(X::Always, &[Ctrl('z')], C::Suspend, "", "Stops struck until the shell's `fg`."),
    key(X::Always, &[Ctrl('l')], C::Redraw, "", "Draws the screen anew."),
];

/// The command that a press asks for in a context, if any.
#[must_use]
pub fn command(context: Context, press: Press) -> Option<Command> {
    let press = press.folded();
    let layers = context.layers().iter();
    let mut rows = layers.flat_map(|layer| TABLE.iter().filter(move |row| row.context == *layer));
    rows.find(|row| row.presses.contains(&press))
        .map(|row| row.command)
}

/// The rows live in a context, the narrowest first; a row whose shown key a narrower one takes is
/// left out, as is a second row of one command.
#[must_use]
pub fn live(context: Context) -> Vec<&'static Key> {
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
