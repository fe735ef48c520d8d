//! The book: everything that a journal says, put together. It is a value; questions about figures are asked elsewhere.

use super::assign::Assigned;
use super::batch::Batch;
use super::climate::{ClimateReadings, PackedPlace};
use super::family::FoldedBatch;
use super::names::ByName;
use super::names::Places;
use super::names::Rests;
use super::names::Spelling;
use super::names::Taxa;
use super::settle::Settled;
use super::settle::{Correction, Standing};
use crate::model::entry::{Climate, Entry, Kind, NurserySettings, Remark, Treat};
use crate::model::fault::{BookFault, Fault, FaultKind};
use crate::model::id::Id;
use crate::model::taxon::Taxon;
use crate::model::text::folded;
use chrono::{Datelike, NaiveDate};
use foldhash::{HashMap, HashSet};
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

/// A journal put together.
#[derive(Clone, Debug, Default)]
pub struct Book {
    batches: Vec<Arc<Batch>>,
    by_key: HashMap<Id, usize>,
    by_code: HashMap<String, Vec<usize>>,
    standing: Vec<Standing>,
    withdrawn: Vec<Standing>,
    corrections: Vec<Correction>,
    /// Made when first asked for.
    by_id: OnceLock<HashMap<Id, usize>>,
    nursery: NurserySettings,
    places: Places,
    taxa: Taxa,
    /// Made when first asked for.
    spelling: OnceLock<Spelling>,
    air: Weather,
    faults: Vec<Fault>,
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
    full: HashMap<String, Vec<Standing>>,
}

impl Book {
    /// Puts together what was settled, assigned and lived.
    pub fn assemble(
        settled: Settled,
        assigned: Assigned,
        lived: Vec<FoldedBatch>,
        air: &[PackedPlace],
        sums: ReadTotals,
    ) -> Self {
        let mut faults = settled.faults;
        faults.extend(left_out(&settled.standing, &assigned));
        let mut standing = settled.standing;
        let is_climate = |s: &mut Standing| matches!(s.entry.kind, Kind::Climate(_));
        let full: Vec<Standing> = standing.extract_if(.., is_climate).collect();
        let mut book = Self {
            nursery: nursery(&standing),
            sums,
            withdrawn: settled.withdrawn,
            corrections: settled.corrections,
            ..Self::default()
        };
        book.add_air(&standing, full, air);
        book.add_batches(&standing, lived, &mut faults);
        book.standing = standing;
        // Only origins tell copies apart, so they come last.
        let told = |f: &Fault| format!("{:?}{:?}", f.id, f.wrong);
        faults.sort_by(|a, b| {
            let place = (a.level(), a.origin).cmp(&(b.level(), b.origin));
            place.then_with(|| told(a).cmp(&told(b)))
        });
        book.faults = faults;
        book
    }

    fn add_air(&mut self, standing: &[Standing], full: Vec<Standing>, air: &[PackedPlace]) {
        let mut names: Vec<(crate::model::at::At, &str)> = Vec::new();
        for one in air {
            let mut readings = ClimateReadings::default();
            readings.add_air(one);
            names.extend(readings.next().map(|first| (first.at, one.name())));
        }
        names.extend(full.iter().filter_map(|s| {
            let climate = s.entry.kind.get::<Climate>()?;
            Some((s.entry.at, &*climate.place))
        }));
        names.sort();
        let names: Vec<&str> = names.into_iter().map(|(_, name)| name).collect();
        self.places = Places::from_entries(standing, &names);
        for one in air {
            let key = self.places.key(one.name());
            self.air.packed.entry(key).or_default().push(one.clone());
        }
        for standing in full {
            if let Kind::Climate(it) = &standing.entry.kind {
                let key = self.places.key(&it.place);
                self.air.full.entry(key).or_default().push(standing);
            }
        }
    }

    fn add_batches(
        &mut self,
        standing: &[Standing],
        lived: Vec<FoldedBatch>,
        faults: &mut Vec<Fault>,
    ) {
        let mut lived = lived;
        lived.sort_by(|a, b| order(&a.batch).cmp(&order(&b.batch)));
        let mut told: HashSet<&str> = HashSet::default();
        let names = lived.iter().map(|f| &*f.batch);
        let names = names
            .filter(|b| told.insert(&b.stick.taxon))
            .map(|b| &*b.taxon);
        self.taxa = Taxa::from_entries(standing, names);
        let mut shown = ShownNames::default();
        for folded_batch in lived {
            let mut batch = folded_batch.batch;
            faults.extend(on_batch(&batch, &folded_batch.faults));
            self.finish(&mut batch, &mut shown);
            let bearers = self.by_code.entry(folded(&batch.code)).or_default();
            if !bearers.is_empty() {
                let code = batch.code.clone();
                let fault = BookFault::CodeTwice { code };
                faults.extend(on_batch(&batch, &[(0, fault.clone())]));
                Arc::make_mut(&mut batch).faults.push(fault);
            }
            bearers.push(self.batches.len());
            self.by_key.insert(batch.key.clone(), self.batches.len());
            self.batches.push(batch);
        }
    }

    /// Gives a batch the names that the whole journal uses.
    fn finish(&self, batch: &mut Arc<Batch>, shown: &mut ShownNames) {
        let place = batch.place.as_deref().map(|place| {
            let shown = shown.places.get_or_make(place, |it| self.places.shown(it));
            shown.clone()
        });
        let typed = batch.stick.taxon.as_str();
        let taxon = shown.taxa.get_or_make(typed, |_| {
            let taxon = self.taxa.resolved(&batch.taxon);
            Arc::new(taxon)
        });
        if place != batch.place || *taxon != batch.taxon {
            let taxon = Arc::clone(taxon);
            let batch = Arc::make_mut(batch);
            batch.place = place;
            batch.taxon = taxon;
        }
    }

    /// All batches, by day of sticking, then code, then id.
    #[must_use]
    pub fn batches(&self) -> &[Arc<Batch>] {
        &self.batches
    }

    /// The batch of that identity.
    #[must_use]
    pub fn batch(&self, key: &Id) -> Option<&Arc<Batch>> {
        self.by_key.get(key).map(|at| &self.batches[*at])
    }

    /// The batches that bear a code now, in the order of `batches`; mostly one. Case and spaces do not matter.
    pub fn by_code(&self, code: &str) -> impl DoubleEndedIterator<Item = &Arc<Batch>> {
        let found = self.by_code.get(&folded(code)).into_iter().flatten();
        found.map(|at| &self.batches[*at])
    }

    /// How many later entries leave the figures with the one that began this batch: its own and those of its parts.
    #[must_use]
    pub fn going_with(&self, began: &Id) -> usize {
        let mut parts: HashMap<&Id, Vec<&Id>> = HashMap::default();
        for batch in &self.batches {
            if let Some(parent) = &batch.parent {
                parts.entry(parent).or_default().push(&batch.key);
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
        &self.standing
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
            let ids = self.standing.iter().enumerate();
            ids.map(|(at, s)| (s.entry.id.clone(), at)).collect()
        });
        by_id.get(id).map(|at| &self.standing[*at])
    }

    /// What was done at a place, in fold order; a spot is ignored. Treatments of a batch are among its events.
    pub fn treatments_at(&self, place: &str) -> impl DoubleEndedIterator<Item = &Standing> {
        let key = self.places.key(place);
        self.standing.iter().filter(move |s| {
            let treated = s.entry.kind.get::<Treat>();
            let place = treated.and_then(|treat| treat.place.as_deref());
            place.is_some_and(|place| self.places.key(place) == key)
        })
    }

    /// Remarks on a place, in fold order; on the nursery as a whole if no place is given.
    pub fn remarks(&self, place: Option<&str>) -> impl DoubleEndedIterator<Item = &Standing> {
        let key = place.map(|p| self.places.key(p));
        self.standing.iter().filter(move |s| {
            let remark = s.entry.kind.get::<Remark>();
            remark.is_some_and(|remark| {
                let place = remark.place.as_deref().map(|place| self.places.key(place));
                remark.batch.is_none() && place == key
            })
        })
    }

    /// The `target` entries that stand, in fold order.
    pub fn targets(&self) -> impl DoubleEndedIterator<Item = &Standing> {
        let is_target = |s: &&Standing| matches!(s.entry.kind, Kind::Target(_));
        self.standing.iter().filter(is_target)
    }

    /// Until when batches are not to be looked at, by the entries of days up to one.
    #[must_use]
    pub fn rests(&self, on: NaiveDate) -> Rests<'_> {
        Rests::new(&self.places, &self.standing, on)
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
            .get_or_init(|| Spelling::from_entries(&self.standing))
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
        if let Some(full) = self.air.full.get(&key) {
            readings.add_full(full);
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
        let ahead = self.standing.iter().rev();
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
        &self.faults
    }

    /// How much was read.
    #[must_use]
    pub fn sums(&self) -> ReadTotals {
        self.sums
    }
}

/// The code of the batch that an entry names, for showing.
fn code_named(entry: &Entry) -> Option<String> {
    Some(entry.kind.batch_named()?.code.to_owned())
}

fn order(batch: &Batch) -> (NaiveDate, &str, &Id) {
    (batch.stuck_on, &batch.code, &batch.key)
}

/// The settings, each as last stated.
fn nursery(standing: &[Standing]) -> NurserySettings {
    let mut out = NurserySettings::default();
    for standing in standing {
        if let Kind::Nursery(it) = &standing.entry.kind {
            out.season_from = it.season_from.or(out.season_from);
            out.units = it.units.or(out.units);
        }
    }
    out
}

/// Faults of entries that belong to no batch that there is.
fn left_out(standing: &[Standing], assigned: &Assigned) -> Vec<Fault> {
    let each = assigned.faults.iter();
    let fault = |(at, fault): &(usize, BookFault)| Fault {
        origin: standing[*at].origin,
        id: Some(standing[*at].entry.id.clone()),
        batch: code_named(&standing[*at].entry),
        wrong: FaultKind::Book(fault.clone()),
    };
    each.map(fault).collect()
}

/// Faults on a batch, each at the event that shows it.
fn on_batch(batch: &Batch, faults: &[(usize, BookFault)]) -> Vec<Fault> {
    let fault = |(event, fault): &(usize, BookFault)| {
        let event = batch.events.get(*event)?;
        Some(Fault {
            origin: event.origin,
            id: Some(event.entry.id.clone()),
            batch: Some(batch.code.clone()),
            wrong: FaultKind::Book(fault.clone()),
        })
    };
    faults.iter().filter_map(fault).collect()
}
