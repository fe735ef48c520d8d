//! Where packed climate lines are gathered, and looked up by id. It settles nothing: lines that something else
//! names, or that clash, are handed back whole.

use super::layer::{Layer, LayerRow};
use super::{ClimateReading, PackedPlace};
use crate::model::entry::{Climate, Entry};
use crate::model::fault::{Crc, Origin};
use crate::model::packed::PackedEntry;
use std::collections::HashMap;
use std::sync::Arc;

/// All packed climate lines, by place as written.
#[derive(Debug, Default)]
pub struct ClimateStore {
    places: Vec<PackedPlace>,
    by_name: HashMap<Arc<str>, usize>,
}

/// Late lines are merged into the bulk once they are this many, and a 32nd of it.
const LATE: usize = 1024;

/// A row's place, layer (0 the bulk, 1 the late ones) and number.
type Spot = (usize, usize, usize);

/// A line handed back.
pub type ClimateLine = (Entry, Crc, Origin);

impl ClimateStore {
    /// The places, to share.
    pub fn places(&self) -> &[PackedPlace] {
        &self.places
    }

    /// How many lines are held.
    pub fn line_count(&self) -> usize {
        self.places.iter().map(PackedPlace::len).sum()
    }

    /// The ids of all lines held.
    pub fn ids(&self) -> impl Iterator<Item = [u8; 16]> + '_ {
        let layers = self.places.iter().flat_map(|air| [&air.base, &air.tail]);
        layers.flat_map(|layer| layer.ids().iter().copied())
    }

    /// Takes a line in if it packs; says whether it did.
    pub fn take(&mut self, entry: &PackedEntry, crc: Crc, origin: Origin) -> bool {
        let Some(climate) = entry.get::<Climate>() else {
            return false;
        };
        let Some(row) = LayerRow::from_entry(entry, crc, origin) else {
            return false;
        };
        let place = match self.by_name.get(climate.place.as_str()) {
            Some(place) => *place,
            None => self.new_place(&climate.place),
        };
        Arc::make_mut(&mut self.places[place].tail)
            .push(&row, &ClimateReading::from_entry(entry.at, &climate))
    }

    fn new_place(&mut self, name: &str) -> usize {
        let name: Arc<str> = name.into();
        self.by_name.insert(Arc::clone(&name), self.places.len());
        self.places.push(PackedPlace {
            name,
            base: Arc::default(),
            tail: Arc::default(),
        });
        self.places.len() - 1
    }

    /// Sorts what came lately and merges it when it is much, or always when asked to.
    pub fn sort(&mut self, merge: bool) {
        for air in &mut self.places {
            let late = air.tail.len();
            if late > 0 {
                Arc::make_mut(&mut air.tail).sort();
            }
            let due = late > LATE && late > air.base.len() / 32;
            if late == 0 || !(due || merge) {
                continue;
            }
            if air.base.len() == 0 {
                std::mem::swap(&mut air.base, &mut air.tail);
                Arc::make_mut(&mut air.base).trim();
                continue;
            }
            let base = Arc::make_mut(&mut air.base);
            if base.append(&air.name, &air.tail) {
                base.sort();
                air.tail = Arc::default();
            }
        }
    }

    /// Hands back the line of this origin.
    pub fn hand_back_origin(&mut self, origin: Origin) -> Vec<ClimateLine> {
        let mut spots = Vec::new();
        self.each_layer(|place, at, layer| {
            spots.extend(layer.row_of_origin(origin).map(|row| (place, at, row)));
        });
        self.remove(spots)
    }

    /// Those of the given ids that more than one line bears.
    pub fn several(&self, ids: &[[u8; 16]]) -> Vec<[u8; 16]> {
        let mut found: HashMap<[u8; 16], usize> = HashMap::new();
        self.each_layer(|_, _, layer| {
            for id in ids {
                let n = layer.row_of_id(id).count();
                if n > 0 {
                    *found.entry(*id).or_default() += n;
                }
            }
        });
        let several = found.into_iter().filter(|(_, n)| *n > 1);
        several.map(|(id, _)| id).collect()
    }

    /// All ids that more than one line bears, or that are wanted for another reason.
    pub fn clashing(&self, wanted: impl Fn(&[u8; 16]) -> bool) -> Vec<[u8; 16]> {
        let mut ids: Vec<[u8; 16]> = Vec::with_capacity(self.line_count());
        self.each_layer(|_, _, layer| ids.extend_from_slice(layer.ids()));
        // Files are runs of rising ids, which a merging sort joins in one pass.
        ids.sort();
        let twice = ids.windows(2).filter(|pair| pair[0] == pair[1]);
        let mut clashing: Vec<[u8; 16]> = twice.map(|pair| pair[0]).collect();
        clashing.extend(ids.iter().filter(|id| wanted(id)));
        clashing.sort_unstable();
        clashing.dedup();
        clashing
    }

    /// Hands back all lines of these ids, given in ascending order.
    pub fn hand_back(&mut self, ids: &[[u8; 16]]) -> Vec<ClimateLine> {
        if ids.is_empty() {
            return Vec::new();
        }
        let mut spots = Vec::new();
        self.each_layer(|place, at, layer| {
            let each = layer.ids().iter().enumerate();
            let named = each.filter(|(_, id)| ids.binary_search(id).is_ok());
            spots.extend(named.map(|(row, _)| (place, at, row)));
        });
        self.remove(spots)
    }

    fn each_layer(&self, mut each: impl FnMut(usize, usize, &Layer)) {
        for (place, air) in self.places.iter().enumerate() {
            each(place, 0, &air.base);
            each(place, 1, &air.tail);
        }
    }

    fn remove(&mut self, mut spots: Vec<Spot>) -> Vec<ClimateLine> {
        spots.sort_unstable();
        let mut out = Vec::new();
        for group in spots.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            let (place, at, _) = group[0];
            let air = &mut self.places[place];
            let layer = if at == 0 {
                &mut air.base
            } else {
                &mut air.tail
            };
            let rows: Vec<usize> = group.iter().map(|(_, _, row)| *row).collect();
            let whole = |row: &usize| {
                (
                    layer.entry(&air.name, *row),
                    layer.crc(*row),
                    layer.origin(*row),
                )
            };
            out.extend(rows.iter().map(whole));
            Arc::make_mut(layer).remove(&rows);
        }
        out
    }
}
