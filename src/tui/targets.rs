//! The plants wanted by a day: what is in hand, how many to stick, at which wood stage, until when. Figures come off
//! the input path; it computes none while drawing and writes nothing itself.

use super::canvas::Tone;
use super::canvas::{Canvas, wrap};
use super::common::Common;
use super::effect::{Answer, Awaited, GoOn};
use super::keys::{Command, KeyContext};
use super::paging::Sheet;
use super::record::LineScreen;
use super::screen::{Screen, Turn};
use crate::analysis::plan::{Plan, Plans, TaxonInPots, in_pots, plans, targets};
use crate::fold::Book;
use crate::text;

/// The chance with which plants are wanted: nine times in ten.
const ASSURANCE: f64 = 0.9;

/// The targets on sheets.
#[derive(Debug, Default)]
pub struct TargetsScreen {
    asked: Awaited,
    figures: Option<Figures>,
    /// Whether the plants in pots stand before those wanted.
    pots_first: bool,
    sheet: Sheet,
}

/// What is worked out off the input path.
#[derive(Clone, Debug)]
struct Figures {
    plans: Plans,
    pots: Vec<TaxonInPots>,
}

/// A line of the sheet, and what it means.
type Told = (String, Tone);

impl TargetsScreen {
    fn ask(&mut self, common: &Common) -> Turn {
        let today = common.today();
        let model = common.model();
        let work = move |book: &Book, go_on: GoOn<'_>| {
            let wanted = targets(book, today, ASSURANCE);
            let model = model(book);
            Some(Figures {
                plans: plans(book, &model, &wanted, None, &mut |_, _| go_on())?,
                pots: in_pots(book, &model, &wanted),
            })
        };
        Turn::stay().also(common.ask(&mut self.asked, "targets", (), work))
    }

    fn told(&self, common: &Common) -> Vec<Told> {
        let Some(figures) = &self.figures else {
            return Vec::new();
        };
        let columns = usize::from(common.size.0);
        let mut out = Vec::new();
        let mut say = |indent: usize, sentence: &str, meaning| {
            let lines = wrap(sentence, columns.saturating_sub(indent).max(1));
            let lead = " ".repeat(indent);
            out.extend(lines.iter().map(|line| (format!("{lead}{line}"), meaning)));
        };
        if self.pots_first {
            potted(&figures.pots, common, &mut say);
        }
        for plan in &figures.plans.plans {
            one(plan, common, &mut say);
        }
        for asked in &figures.plans.rooms {
            say(0, &text::plans::room(asked), Tone::Plain);
        }
        if !self.pots_first {
            potted(&figures.pots, common, &mut say);
        }
        out
    }
}

/// The plants in pots, by taxon and then by age.
fn potted(pots: &[TaxonInPots], common: &Common, say: &mut dyn FnMut(usize, &str, Tone)) {
    let calendar = common.calendar();
    if !pots.is_empty() {
        say(0, "In pots, not sold yet:", Tone::Heading);
    }
    for held in pots {
        say(2, &text::plans::pots(held, calendar), Tone::Plain);
        for batch in &held.batches {
            say(4, &text::plans::potted(batch, calendar), Tone::Plain);
        }
    }
}

/// One target: what is wanted, what is in hand, what to stick.
fn one(plan: &Plan, common: &Common, say: &mut dyn FnMut(usize, &str, Tone)) {
    let calendar = common.calendar();
    say(0, &text::plans::wanted(plan, calendar), Tone::Heading);
    if let Some(held) = text::plans::in_hand(plan) {
        say(2, &held, Tone::Plain);
    }
    if text::plans::is_covered(plan) {
        say(2, "Nothing more needs to be stuck.", Tone::Done);
        return;
    }
    let more = !plan.hand.batches.is_empty();
    for offer in &plan.offers {
        let meaning = match offer.latest {
            Some(day) if (day - common.today()).num_days() <= 14 => Tone::Pressing,
            _ => Tone::Plain,
        };
        say(2, &text::plans::offer(offer, more, calendar), meaning);
        for ground in text::plans::grounds(offer, plan, calendar) {
            say(4, &ground, Tone::Plain);
        }
    }
}

impl Screen for TargetsScreen {
    fn context(&self) -> KeyContext {
        KeyContext::Targets
    }

    fn title(&self, _common: &Common) -> String {
        let title = match self.pots_first {
            true => "Plants in pots and targets",
            false => "Targets and plants in pots",
        };
        title.to_owned()
    }

    fn command(&mut self, common: &mut Common, command: Command) -> Turn {
        let lines = self.told(common).len();
        let rows = common.body();
        match command {
            Command::PageOn | Command::Next => {
                self.sheet.turn(true, lines, rows);
            }
            Command::PageBack | Command::Previous => {
                self.sheet.turn(false, lines, rows);
            }
            Command::Order => {
                self.pots_first = !self.pots_first;
                self.sheet = Sheet::default();
            }
            Command::First => self.sheet = Sheet::default(),
            Command::Last => self.sheet.show(lines.saturating_sub(1), lines, rows),
            Command::Open => {
                let line = LineScreen::open(Command::Line, self.subject(common));
                return line.map_or_else(Turn::stay, |line| Turn::open(line.resumed("target ")));
            }
            _ => {}
        }
        Turn::stay()
    }

    fn refreshed(&mut self, common: &Common) -> Turn {
        self.ask(common)
    }

    fn answered(&mut self, _common: &Common, answer: &Answer) {
        if let Some(figures) = self.asked.taken::<Figures>(answer) {
            self.figures = Some(figures.clone());
        }
    }

    fn draw(&self, common: &Common, canvas: &mut Canvas<'_>) {
        let Some(figures) = &self.figures else {
            canvas.text(0, 0, "Working out what to stick...", Tone::Plain);
            return;
        };
        if figures.plans.plans.is_empty() && figures.pots.is_empty() {
            let none = "No target is set yet. Enter sets one: how many plants, of what, by when.";
            canvas.wrapped(0, 0, none, Tone::Plain);
            return;
        }
        let told = self.told(common);
        let shown = self.sheet.shown(told.len(), canvas.height());
        for (row, (line, meaning)) in told[shown].iter().enumerate() {
            canvas.text(row, 0, line, *meaning);
        }
        self.sheet.sign(told.len(), canvas);
    }
}
