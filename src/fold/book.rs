//! The book: everything that a journal says, put together. It is a value; questions about figures are asked elsewhere.

mod longer;

use super::assign::Assigned;
use super::batch::Batch;
use super::climate::{ClimateReadings, PackedPlace, WholeReading};
use super::lives::{FoldedBatch, Lives};
use super::names::ByName;
use super::names::Places;
use super::names::Rests;
use super::names::Spelling;
use super::names::Taxa;
use super::outline::Outline;
use super::roster::{Roster, RosterRow};
use super::settle::Settled;
use super::settle::{Correction, Standing};
use crate::model::entry::{Entry, NurserySettings, Remark, Target, Treat};
use crate::model::fault::{BookFault, Fault, FaultKind};
use crate::model::id::Id;
use crate::model::packed::PackedEntry;
use crate::model::taxon::Taxon;
use chrono::{Datelike, NaiveDate};
use foldhash::{HashMap, HashSet};
use std::collections::BTreeSet;
use std::sync::{Arc, OnceLock};

/// How much was read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ReadTotals {
    /// Lines, copies too.
    pub lines: u64,
    /// Entries, copies counted once; amends and withdraws too.
    pub entries: u64,
    /// Faults that a withdraw or an amend has settled.
    pub settled: u64,
    /// Entries withdrawn, and those that went along with a stick.
    pub withdrawn: u64,
}

/// A journal put together. Lives are folded when they are first asked for: those of one family for a question about one
/// batch, all for one about the nursery.
#[derive(Clone, Debug, Default)]
pub struct Book {
    lives: Arc<Lives>,
    roster: Arc<Roster>,
    /// All batches, once all were asked for.
    all: OnceLock<Vec<Arc<Batch>>>,
    /// By row of the roster, those that were asked for before.
    few: Box<[OnceLock<Arc<Batch>>]>,
    withdrawn: Arc<[Standing]>,
    corrections: Arc<[Correction]>,
    /// The entries that state facts, or are the first to name something.
    speakers: Arc<[Entry]>,
    /// The numbers of entries, made when first asked for; those that came since a longer book shared it are the last.
    by_id: OnceLock<Arc<HashMap<Id, usize>>>,
    nursery: NurserySettings,
    places: Places,
    taxa: Arc<Taxa>,
    /// Made when first asked for.
    spelling: OnceLock<Spelling>,
    air: Weather,
    /// What is wrong beside what lives show.
    found: Vec<Fault>,
    /// All that is wrong, once it was asked for.
    faults: OnceLock<Vec<Fault>>,
    sums: ReadTotals,
}

/// The names that the whole journal uses, by those typed: few are borne by many batches.
#[derive(Default)]
struct ShownNames {
    places: ByName<String>,
    taxa: ByName<Arc<Taxon>>,
}

/// Climate lines: packed by place as written, and those that are not packed by the place's key.
#[derive(Clone, Debug, Default)]
struct Weather {
    packed: HashMap<String, Vec<PackedPlace>>,
    whole: HashMap<String, Vec<WholeReading>>,
}

impl Book {
    /// Puts together what was settled, outlined and assigned; lives will be folded on so many threads.
    pub fn assemble(
        settled: Settled,
        outline: Outline,
        assigned: Assigned,
        air: &[PackedPlace],
        (sums, threads): (ReadTotals, usize),
    ) -> Self {
        let mut found = settled.faults;
        found.extend(left_out(&settled.standing, &assigned.faults));
        let whose = (&*assigned.parents, assigned.entries);
        let (lives, kinships) = Lives::new(settled.standing, whose, threads);
        let roster = Roster::new(&lives, &kinships);
        found.extend(roster.bearing_anothers().map(|at| code_twice(&roster, at)));
        let numbers = outline.speakers.iter();
        let speakers = numbers.map(|at| lives.standing()[*at as usize].entry.whole());
        let speakers: Vec<Entry> = speakers.collect();
        let mut told: HashSet<&str> = HashSet::default();
        let names = roster.rows().iter().map(|row| row.taxon.as_str());
        let names: Vec<Taxon> = names
            .filter(|name| told.insert(name))
            .map(Taxon::parse)
            .collect();
        let mut book = Self {
            nursery: nursery(&speakers),
            taxa: Arc::new(Taxa::from_entries(&speakers, names.iter())),
            few: roster.rows().iter().map(|_| OnceLock::new()).collect(),
            withdrawn: settled.withdrawn.into(),
            corrections: settled.corrections.into(),
            speakers: speakers.into(),
            roster: Arc::new(roster),
            lives: Arc::new(lives),
            found,
            sums,
            ..Self::default()
        };
        let whole = settled.climate.into_iter().filter_map(WholeReading::new);
        book.add_air(whole.collect(), air);
        book
    }

    /// Takes in the climate lines, those that are not packed in fold order, and with them all names of places.
    fn add_air(&mut self, whole: Vec<WholeReading>, air: &[PackedPlace]) {
        let mut names: Vec<(crate::model::at::At, &str)> = Vec::new();
        for one in air {
            let mut readings = ClimateReadings::default();
            readings.add_air(one);
            names.extend(readings.next().map(|first| (first.at, one.name())));
        }
        names.extend(whole.iter().map(|line| (line.at(), line.place())));
        names.sort();
        let names: Vec<&str> = names.into_iter().map(|(_, name)| name).collect();
        self.places = Places::from_entries(&self.speakers, &names);
        for one in air {
            let key = self.places.key(one.name());
            self.air.packed.entry(key).or_default().push(one.clone());
        }
        for line in whole {
            let key = self.places.key(line.place());
            self.air.whole.entry(key).or_default().push(line);
        }
    }

    /// The batch of a row as its life made it, with the names that the whole journal uses.
    fn made(&self, at: usize, shown: &mut ShownNames) -> Option<Arc<Batch>> {
        let row = &self.roster.rows()[at];
        let mut batch = Arc::clone(&self.lives.folded(row.kinship)?.batch);
        let place = batch.place.as_deref().map(|place| {
            let shown = shown.places.get_or_make(place, |it| self.places.shown(it));
            shown.clone()
        });
        let typed = batch.stick.taxon.as_str();
        let taxon = shown.taxa.get_or_make(typed, |_| {
            let taxon = self.taxa.resolved(&batch.taxon);
            Arc::new(taxon)
        });
        let code_twice = self.roster.is_namesake(at);
        if place != batch.place || *taxon != batch.taxon || code_twice {
            let taxon = Arc::clone(taxon);
            let batch = Arc::make_mut(&mut batch);
            batch.place = place;
            batch.taxon = taxon;
            if code_twice {
                let code = batch.code.clone();
                batch.faults.push(BookFault::CodeTwice { code });
            }
        }
        Some(batch)
    }

    /// On so many threads what is asked of many batches is worked out.
    #[must_use]
    pub fn threads(&self) -> usize {
        self.lives.threads
    }

    /// All batches, by day of sticking, then code, then id.
    #[must_use]
    pub fn batches(&self) -> &[Arc<Batch>] {
        self.all.get_or_init(|| {
            self.lives.fold_all();
            let mut shown = ShownNames::default();
            let rows = 0..self.roster.rows().len();
            rows.filter_map(|at| self.made(at, &mut shown)).collect()
        })
    }

    /// Folds all lives now, so that no question waits for them.
    pub fn fold_lives(&self) {
        let _ = self.batches();
        let _ = self.faults();
    }

    /// All batches by their beginnings, in the order of `batches`: no life is folded for that.
    #[must_use]
    pub fn roster(&self) -> &[RosterRow] {
        self.roster.rows()
    }

    /// Whether another book has the very same roster.
    #[must_use]
    pub fn shares_roster(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.roster, &other.roster)
    }

    /// The batch of that identity.
    #[must_use]
    pub fn batch(&self, key: &Id) -> Option<&Arc<Batch>> {
        self.batch_at(self.roster.row(key)?)
    }

    /// The batch of a row of the roster.
    fn batch_at(&self, at: usize) -> Option<&Arc<Batch>> {
        if let Some(all) = self.all.get() {
            return all.get(at);
        }
        let held = self.few.get(at)?;
        if held.get().is_none() {
            let made = self.made(at, &mut ShownNames::default())?;
            // Should another thread have set it meanwhile, it is the same.
            let _ = held.set(made);
        }
        held.get()
    }

    /// The batches that bear a code now, in the order of `batches`; mostly one. Case and spaces do not matter.
    pub fn by_code(&self, code: &str) -> impl DoubleEndedIterator<Item = &Arc<Batch>> {
        self.roster.bearing(code).filter_map(|at| self.batch_at(at))
    }

    /// The lives of all batches.
    pub(super) fn lives(&self) -> &Arc<Lives> {
        &self.lives
    }

    /// How many later entries leave the figures with the one that began this batch: its own and those of its parts.
    #[must_use]
    pub fn going_with(&self, began: &Id) -> usize {
        let mut parts: HashMap<&Id, Vec<&Id>> = HashMap::default();
        for row in self.roster() {
            if let Some(parent) = &row.parent {
                parts.entry(parent).or_default().push(&row.key);
            }
        }
        let (mut entries, mut batches) = (HashSet::default(), vec![began]);
        while let Some(batch) = batches.pop().and_then(|key| self.batch(key)) {
            entries.extend(batch.events.iter().map(|event| &event.entry.id));
            batches.extend(parts.remove(&batch.key).unwrap_or_default());
        }
        entries.iter().filter(|id| **id != began).count()
    }

    /// All entries that stand but climate lines, in fold order; amends and withdraws are worked in.
    #[must_use]
    pub fn entries(&self) -> &[Standing] {
        self.lives.standing()
    }

    /// Of all entries those that state facts, or are the first to name a place, a medium, a person and their like.
    #[must_use]
    pub fn speakers(&self) -> &[Entry] {
        &self.speakers
    }

    /// The batches that have any of these entries, be it the one that began them, in the order of `batches`: one walk
    /// through all entries, however many are sought.
    pub fn batches_with<'a>(
        &'a self,
        entries: &BTreeSet<&Id>,
    ) -> impl Iterator<Item = &'a Arc<Batch>> {
        let has = move |row: &&RosterRow| {
            let mut own = self.lives.entries(row.kinship);
            !entries.is_empty() && own.any(|standing| entries.contains(&standing.entry.id))
        };
        let rows = self.roster().iter().filter(has);
        rows.filter_map(|row| self.batch(&row.key))
    }

    /// The entries withdrawn, in fold order, as first written; climate lines too.
    #[must_use]
    pub fn withdrawn(&self) -> &[Standing] {
        &self.withdrawn
    }

    /// The amends and withdraws, in fold order, those not in force too.
    #[must_use]
    pub fn corrections(&self) -> &[Correction] {
        &self.corrections
    }

    /// The entry of that id, if it stands.
    #[must_use]
    pub fn entry(&self, id: &Id) -> Option<&Standing> {
        let by_id = self.by_id.get_or_init(|| {
            let ids = self.entries().iter().enumerate();
            let ids = ids.map(|(at, s)| (s.entry.id.clone(), at));
            Arc::new(ids.collect())
        });
        if let Some(at) = by_id.get(id) {
            return self.entries().get(*at);
        }
        let last = self.entries().get(by_id.len()..).unwrap_or_default();
        last.iter().find(|standing| standing.entry.id == *id)
    }

    /// What was done at a place, in fold order; a spot is ignored. Treatments of a batch are among its events.
    pub fn treatments_at(&self, place: &str) -> impl DoubleEndedIterator<Item = &Standing> {
        let key = self.places.key(place);
        self.entries().iter().filter(move |s| {
            let treated = s.entry.get::<Treat>();
            let place = treated.and_then(|treat| treat.place);
            place.is_some_and(|place| self.places.key(&place) == key)
        })
    }

    /// Remarks on a place, in fold order; on the nursery as a whole if no place is given.
    pub fn remarks(&self, place: Option<&str>) -> impl DoubleEndedIterator<Item = &Standing> {
        let key = place.map(|p| self.places.key(p));
        self.entries().iter().filter(move |s| {
            let remark = s.entry.get::<Remark>();
            remark.is_some_and(|remark| {
                let place = remark.place.as_deref().map(|place| self.places.key(place));
                remark.batch.is_none() && place == key
            })
        })
    }

    /// The `target` entries that stand, in fold order.
    pub fn targets(&self) -> impl DoubleEndedIterator<Item = &Standing> {
        let is_target = |s: &&Standing| s.entry.is::<Target>();
        self.entries().iter().filter(is_target)
    }

    /// Until when batches are not to be looked at, by the entries of days up to one.
    #[must_use]
    pub fn rests(&self, on: NaiveDate) -> Rests<'_> {
        Rests::new(&self.places, self.entries(), on)
    }

    /// The places.
    #[must_use]
    pub fn places(&self) -> &Places {
        &self.places
    }

    /// The taxa.
    #[must_use]
    pub fn taxa(&self) -> &Taxa {
        &self.taxa
    }

    /// How names in free text were first written.
    pub fn spelling(&self) -> &Spelling {
        self.spelling
            .get_or_init(|| Spelling::from_entries(self.entries()))
    }

    /// The nursery's settings, each as last stated.
    #[must_use]
    pub fn nursery(&self) -> &NurserySettings {
        &self.nursery
    }

    /// The climate at a place in time order; a spot is ignored.
    #[must_use]
    pub fn readings(&self, place: &str) -> ClimateReadings<'_> {
        let key = self.places.key(place);
        let mut readings = ClimateReadings::default();
        for air in self.air.packed.get(&key).into_iter().flatten() {
            readings.add_air(air);
        }
        if let Some(whole) = self.air.whole.get(&key) {
            readings.add_whole(whole);
        }
        readings
    }

    /// The climate line of that id, if it stands: sought line by line, so not for every key press.
    #[must_use]
    pub fn climate_entry(&self, id: &Id) -> Option<Standing> {
        let all = self.places.all().iter();
        let mut lines = all.flat_map(|place| self.readings(&place.name).standings());
        lines.find(|standing| standing.entry.id == *id)
    }

    /// The nursery's year of a day: that in which its season began. Without a setting, the calendar's.
    #[must_use]
    pub fn season(&self, day: NaiveDate) -> i32 {
        let began = self
            .nursery
            .season_from
            .is_none_or(|from| (day.month(), day.day()) >= (from.month, from.day));
        day.year() - i32::from(!began)
    }

    /// `DayAhead` for each entry dated after a day, climate lines too: ask with today and some grace, since
    /// the book knows no clock.
    #[must_use]
    pub fn days_ahead(&self, of: NaiveDate) -> Vec<Fault> {
        let ahead = self.entries().iter().rev();
        let ahead = ahead.take_while(|s| s.entry.at.day() > of).cloned();
        let next = of.succ_opt().into_iter();
        let places = next.flat_map(|day| self.places.all().iter().map(move |p| (day, p)));
        let air = places.flat_map(|(day, p)| self.readings(&p.name).since(day).standings());
        ahead
            .chain(air)
            .map(|standing| Fault {
                origin: standing.origin,
                id: Some(standing.entry.id.clone()),
                batch: code_named(&standing.entry),
                wrong: FaultKind::Book(BookFault::DayAhead {
                    day: standing.entry.at.day(),
                }),
            })
            .collect()
    }

    /// All that is wrong, faults before notices, then by file and line.
    #[must_use]
    pub fn faults(&self) -> &[Fault] {
        let all = || self.with_found(self.lives.gathered(of_life));
        self.faults.get_or_init(all)
    }

    /// As [`Book::faults`], but for what the lives of batches show that another book has with the very same entries.
    #[must_use]
    pub fn faults_beside(&self, other: &Self) -> Vec<Fault> {
        self.with_found(self.lives.gathered_beside(&other.lives, of_life))
    }

    fn with_found(&self, mut faults: Vec<Fault>) -> Vec<Fault> {
        faults.extend_from_slice(&self.found);
        // Only origins tell copies apart, so they come last.
        let told = |f: &Fault| format!("{:?}{:?}", f.id, f.wrong);
        faults.sort_by(|a, b| {
            let place = (a.level(), a.origin).cmp(&(b.level(), b.origin));
            place.then_with(|| told(a).cmp(&told(b)))
        });
        faults
    }

    /// What is wrong with files, entries and the naming of batches: what no life need be folded for.
    #[must_use]
    pub fn faults_beside_lives(&self) -> &[Fault] {
        &self.found
    }

    /// How much was read.
    #[must_use]
    pub fn sums(&self) -> ReadTotals {
        self.sums
    }
}

/// The code of the batch that an entry names, for showing.
fn code_named(entry: &PackedEntry) -> Option<String> {
    Some(entry.kind().batch_named()?.code.to_owned())
}

/// The settings, each as last stated.
fn nursery(speakers: &[Entry]) -> NurserySettings {
    let mut out = NurserySettings::default();
    for it in speakers
        .iter()
        .filter_map(|entry| entry.kind.get::<NurserySettings>())
    {
        out.season_from = it.season_from.or(out.season_from);
        out.units = it.units.or(out.units);
    }
    out
}

/// Faults of entries that belong to no batch that there is.
fn left_out(standing: &[Standing], faults: &[(u32, BookFault)]) -> Vec<Fault> {
    let fault = |(at, fault): &(u32, BookFault)| {
        let standing = &standing[*at as usize];
        Fault {
            origin: standing.origin,
            id: Some(standing.entry.id.clone()),
            batch: code_named(&standing.entry),
            wrong: FaultKind::Book(fault.clone()),
        }
    };
    faults.iter().map(fault).collect()
}

/// That an earlier batch bears the code of this row as well.
fn code_twice(roster: &Roster, at: usize) -> Fault {
    let row = &roster.rows()[at];
    let code = row.code.to_string();
    Fault {
        origin: row.origin,
        id: Some(row.key.clone()),
        batch: Some(code.clone()),
        wrong: FaultKind::Book(BookFault::CodeTwice { code }),
    }
}

/// What a life shows as wrong, each at the event that shows it.
fn of_life(folded: &FoldedBatch) -> Vec<Fault> {
    let batch = &folded.batch;
    let fault = |(event, fault): &(usize, BookFault)| {
        let event = batch.events.get(*event)?;
        Some(Fault {
            origin: event.origin,
            id: Some(event.entry.id.clone()),
            batch: Some(batch.code.clone()),
            wrong: FaultKind::Book(fault.clone()),
        })
    };
    folded.faults.iter().filter_map(fault).collect()
}
