//! The table of phrases: for each field of each kind its first words, its shape and an example. Reading, writing
//! and help all follow from it.

use super::lists::{
    COUNTED_FROM, COVER, CUT, DEED, FIRMNESS, HOW, Listed, PIECE, UNITS, WOOD, listed,
};
use super::units::Quantity;
use super::verbs::VERBS;
use Quantity::{Area, Duration, Flow, Length, Light, Percent, Pressure, Temperature};
use Shape::{
    Band, Bare, BareCount, Code, Coming, Container, Count, Cycle, Days, Drop, Flag, Guess, Heat,
    HeldText, Hormone, InWhat, Lost, Moment, MonthDay, NewCode, OneOfSeveral, Reference,
    SizedContainer, Stage, Text, Why,
};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How the rest of a phrase is read.
#[derive(Clone, Copy, Debug)]
pub(super) enum Shape {
    /// Any text.
    Text,
    /// A text that the journal holds already in this field.
    HeldText,
    /// A medium, unless the text is plainly a container.
    InWhat,
    /// A container; understood without its first word if it ends in `tray`, `pot`, `cell`.
    Container,
    /// A container known by its size alone, as `9 cm`.
    SizedContainer,
    /// The code of a batch that the journal holds.
    Code,
    /// The code that a new batch or part gets.
    NewCode,
    /// The id of an entry, or a batch's code for its sticking.
    Reference,
    /// A whole number, before or behind the first word.
    Count,
    /// A whole number standing alone too.
    BareCount,
    /// How many days, as `10 days`.
    Days,
    /// A number or a spoken guess at a stage, also `3 of 12`.
    Stage,
    /// A spoken guess and the stage, as `half rooted`.
    Guess,
    /// How many have nothing yet, or that all have nothing yet.
    Bare,
    /// Numbers lost by cause.
    Lost,
    /// A number with its unit.
    Quantity(Quantity),
    /// A set point, or `none`.
    Heat,
    /// Seconds of mist in a time, as `10s/12min`.
    Cycle,
    /// Two bounds of vapour pressure deficit, as `0.3-0.8`.
    Band,
    /// A listed word.
    Listed(Listed),
    /// A cause of loss or another reason to discard.
    Why,
    /// The first word says it all.
    Flag(bool),
    /// A day or time past.
    Moment,
    /// A day to come.
    Coming,
    /// A day of the year.
    MonthDay,
    /// Rooting hormones.
    Hormone,
    /// One more text of several.
    OneOfSeveral,
    /// A field of the amended entry that is taken away.
    Drop,
}

/// A row: in these kinds, these first words fill this field.
#[derive(Clone, Copy, Debug)]
pub(super) struct PhraseRow {
    /// Kinds, by their words.
    pub kinds: &'static [&'static str],
    /// The field, the first one if the shape fills several.
    pub field: &'static str,
    /// First words, the shown one first.
    pub keys: &'static [&'static str],
    /// How the rest is read.
    pub shape: Shape,
    /// An example, as typed.
    pub example: &'static str,
}

const fn row(
    kinds: &'static [&'static str],
    field: &'static str,
    keys: &'static [&'static str],
    shape: Shape,
    example: &'static str,
) -> PhraseRow {
    PhraseRow {
        kinds,
        field,
        keys,
        shape,
        example,
    }
}

const STICK: &[&str] = &["stick"];
const LOOK: &[&str] = &["look"];
const CLIMATE: &[&str] = &["climate"];
const PLACE: &[&str] = &["place"];
const OF_BATCH: &[&str] = &[
    "look", "pot", "ready", "sold", "discard", "move", "treat", "remark",
];
const COUNTED: &[&str] = &["pot", "ready", "sold", "discard", "move"];
const REFERRING: &[&str] = &["amend", "withdraw"];
const AMEND: &[&str] = &["amend"];
/// All kinds but `amend`, whose phrases are those of the entry that it amends.
const ALL: &[&str] = &[
    "stick", "look", "pot", "ready", "sold", "discard", "move", "treat", "climate", "place",
    "taxon", "nursery", "remark", "withdraw", "target",
];
/// In a target `by` is the day.
const ALL_BUT_TARGET: &[&str] = ALL.split_at(ALL.len() - 1).0;

#[rustfmt::skip]
pub(super) const ROWS: &[PhraseRow] = &[
    row(STICK, "taxon", &["taxon", "of"], Text, "taxon Weigela florida"),
    row(STICK, "batch", &["code", "batch"], NewCode, "code 26-041"),
    row(STICK, "stuck", &["cuttings", "stuck", "count"], BareCount, "24 cuttings"),
    row(STICK, "taken", &["taken", "cut on", "collected", "cut", "picked", "gathered"], Moment, "taken yesterday"),
    row(STICK, "wood", &["wood"], Shape::Listed(WOOD), "semi-ripe"),
    row(STICK, "cut", &["cut"], Shape::Listed(CUT), "nodal"),
    row(STICK, "piece", &["piece"], Shape::Listed(PIECE), "tip"),
    row(STICK, "firmness", &["firmness", "bend test"], Shape::Listed(FIRMNESS), "snaps"),
    row(STICK, "nodes", &["nodes", "node"], Count, "4 nodes"),
    row(STICK, "length_mm", &["length", "long"], Shape::Quantity(Length), "8 cm long"),
    row(STICK, "leaves", &["leaves", "leaf"], Count, "2 leaves"),
    row(STICK, "wounded", &["wounded", "wound", "lightly wounded", "with a wound", "scraped"], Flag(true), "wounded"),
    row(STICK, "wounded", &["not wounded", "unwounded", "no wound"], Flag(false), "not wounded"),
    row(STICK, "hormone", &["hormone", "dipped in"], Hormone, "iba 3000 talc"),
    row(STICK, "medium", &["in"], InWhat, "in bark:perlite 1:1"),
    row(STICK, "medium", &["medium", "compost", "mix", "substrate"], Text, "medium bark:perlite 1:1"),
    row(STICK, "container", &["container", "into"], Container, "84 cell tray"),
    row(STICK, "per_container", &["per container", "per tray", "to a tray", "a tray", "per flat", "to the tray", "in a tray"], Count, "40 to a tray"),
    row(STICK, "per_plant", &["per plant", "to a plant", "per pot", "to a pot"], Count, "3 to a plant"),
    row(STICK, "place", &["at", "place"], Text, "at bench A/3"),
    row(STICK, "place", &["on"], HeldText, "on bench A"),
    row(STICK, "cover", &["cover", "under"], Shape::Listed(COVER), "mist"),
    row(STICK, "heat_c", &["heat", "bottom heat"], Heat, "heat 21"),
    row(STICK, "blade", &["blade", "blades", "knife", "disinfectant"], Text, "blade alcohol 70 %"),
    row(STICK, "source", &["from", "source", "off"], Text, "from stock bed 3"),
    row(STICK, "trial", &["trial"], Text, "trial softwood or semi-ripe"),
    row(STICK, "arm", &["arm"], Text, "arm semi-ripe"),
    row(STICK, "again", &["again", "recut of", "restuck from"], Reference, "again 26-012"),
    row(STICK, "aside", &["aside", "kept aside", "not in figures"], Text, "aside labels mixed"),

    row(OF_BATCH, "batch", &["batch", "code"], Code, "batch 26-041"),
    row(OF_BATCH, "stick", &["id", "batch id"], Reference, "id 01JZ0000000000000000000000"),

    row(LOOK, "how", &["how", "by a"], Shape::Listed(HOW), "tug"),
    row(LOOK, "seen", &["seen", "of", "examined"], Count, "seen 12"),
    row(LOOK, "callused", &["callused", "callus", "calloused"], Stage, "callused 4"),
    row(LOOK, "rooted", &["rooted", "roots", "root"], Stage, "rooted 3"),
    row(LOOK, "bottom", &["bottom", "roots at bottom", "roots at the bottom", "at bottom", "at the bottom", "to bottom"], Stage, "bottom 2"),
    row(LOOK, "about", &["about", "roughly"], Guess, "most rooted"),
    row(LOOK, "seen", &["nothing yet", "bare", "nothing"], Bare, "nothing yet"),
    row(LOOK, "lost", &["lost", "dead", "died"], Lost, "black 1"),
    row(&["look", "move", "remark"], "again_on", &["again on", "again in", "again", "look again", "look again on", "look again in", "next look"], Coming, "again in 14 days"),

    row(COUNTED, "count", &["plants", "count", "cuttings"], BareCount, "18 plants"),
    row(&["pot"], "container", &["container", "into", "in"], SizedContainer, "9 cm"),
    row(&["pot", "move", "treat"], "place", &["at", "to", "place"], Text, "at frame 2"),
    row(&["pot", "move", "treat"], "place", &["on"], HeldText, "on frame 2"),
    row(&["ready", "discard"], "from", &["from"], Shape::Listed(COUNTED_FROM), "from pots"),
    row(&["discard"], "why", &["why", "because", "cause"], Why, "given up"),

    row(&["move", "place"], "cover", &["cover", "under"], Shape::Listed(COVER), "frame"),
    row(&["move"], "heat_c", &["heat", "bottom heat"], Heat, "heat none"),
    row(&["move"], "into", &["into", "as"], NewCode, "into 26-k050"),

    row(&["treat"], "what", &["what", "done"], Shape::Listed(DEED), "spray"),
    row(&["treat"], "with", &["with"], Text, "with soap"),

    row(&["remark"], "place", &["at", "place"], Text, "at bench A"),
    row(CLIMATE, "place", &["at", "place"], Text, "at bench A"),
    row(CLIMATE, "air_c", &["air"], Shape::Quantity(Temperature), "air 24.5"),
    row(CLIMATE, "rh_pct", &["rh", "humidity"], Shape::Quantity(Percent), "rh 82"),
    row(CLIMATE, "leaf_c", &["leaf", "leaves"], Shape::Quantity(Temperature), "leaf 23"),
    row(CLIMATE, "medium_c", &["medium", "compost", "mix"], Shape::Quantity(Temperature), "medium 21"),
    row(CLIMATE, "mist_on_s", &["mist on"], Shape::Quantity(Duration), "mist on 10s"),
    row(CLIMATE, "mist_every_s", &["mist every"], Shape::Quantity(Duration), "mist every 12min"),
    row(CLIMATE, "mist_on_s", &["mist"], Cycle, "mist 10s/12min"),
    row(CLIMATE, "ppfd", &["ppfd", "light"], Shape::Quantity(Light), "light 120"),
    row(CLIMATE, "vent", &["vent", "vents"], Text, "vent half open"),

    row(PLACE, "place", &["name", "place"], Text, "name bench A"),
    row(&["place", "taxon"], "aliases", &["also", "alias", "aliases"], OneOfSeveral, "also old bench"),
    row(PLACE, "heat_c", &["heat", "bottom heat"], Heat, "heat 21"),
    row(PLACE, "medium", &["medium", "compost", "in"], Text, "medium bark:perlite 1:1"),
    row(PLACE, "trays", &["trays", "tray", "room for", "flats"], Count, "40 trays"),
    row(PLACE, "nozzles", &["nozzles", "nozzle"], Count, "12 nozzles"),
    row(PLACE, "nozzle_l_h", &["nozzle flow", "each nozzle", "a nozzle"], Shape::Quantity(Flow), "nozzle flow 25 l/h"),
    row(PLACE, "area_m2", &["area"], Shape::Quantity(Area), "area 6 m2"),
    row(PLACE, "vpd_low_kpa", &["vpd low", "vpd from"], Shape::Quantity(Pressure), "vpd low 0.3"),
    row(PLACE, "vpd_high_kpa", &["vpd high", "vpd to"], Shape::Quantity(Pressure), "vpd high 0.8"),
    row(PLACE, "vpd_low_kpa", &["vpd"], Band, "vpd 0.3-0.8"),
    row(PLACE, "closed", &["closed", "no longer used"], Flag(true), "closed"),
    row(PLACE, "closed", &["not closed", "in use", "reopened"], Flag(false), "in use"),

    row(&["taxon", "target"], "taxon", &["taxon", "name", "of"], Text, "taxon Weigela florida"),
    row(&["taxon"], "protected", &["protected", "breeders' rights"], Flag(true), "protected"),
    row(&["taxon"], "protected", &["not protected", "unprotected"], Flag(false), "not protected"),
    row(&["taxon"], "base_c", &["base", "base temperature"], Shape::Quantity(Temperature), "base 5"),
    row(&["taxon"], "first_look_days", &["first look", "first look after"], Days, "first look 10 days"),

    row(&["nursery"], "season_from", &["season from", "season", "year from"], MonthDay, "season from 08-01"),
    row(&["nursery"], "units", &["units", "unit"], Shape::Listed(UNITS), "units C"),

    row(&["target"], "count", &["plants", "count"], BareCount, "60 plants"),
    row(&["target"], "by_date", &["by", "by date", "until"], Coming, "by 2027-05-01"),
    row(&["target"], "wood", &["wood"], Shape::Listed(WOOD), "softwood"),

    row(REFERRING, "of", &["entry"], Reference, "entry 01JZ0000000000000000000000"),
    // What an amend sets is said in the phrases of the entry that it amends; these are the amend's own.
    row(AMEND, "set", &["drop", "without", "no"], Drop, "drop medium"),
    row(AMEND, "at", &["amended on"], Moment, "amended on 3 Jun"),
    row(AMEND, "by", &["amended by"], Text, "amended by Ana"),
    row(AMEND, "note", &["because", "amended because"], Text, "because miscounted"),
    row(&["withdraw"], "why", &["why", "because"], Text, "because wrong tray"),

    row(ALL, "at", &["on", "dated", "date", "when"], Moment, "yesterday 16:30"),
    row(ALL, "by", &["who"], Text, "who Ana"),
    row(ALL_BUT_TARGET, "by", &["by"], Text, "by Ana"),
    row(ALL, "note", &["note"], Text, "note \"leaves yellow, some limp\""),
];

/// The rows of each kind, in order.
static BY_KIND: LazyLock<BTreeMap<&str, Vec<&'static PhraseRow>>> = LazyLock::new(|| {
    let mut out = BTreeMap::<_, Vec<_>>::new();
    for row in ROWS {
        for kind in row.kinds {
            out.entry(*kind).or_default().push(row);
        }
    }
    out
});

/// The rows that a kind has, in order.
pub(super) fn rows_of(kind: &str) -> impl Iterator<Item = &'static PhraseRow> {
    let rows = BY_KIND.get(kind).map_or(&[][..], Vec::as_slice);
    rows.iter().copied()
}

/// All that a line may say: for each verb its words, an example, and each of its phrases with the other first
/// words that mean the same. One item a line, phrases indented by two spaces.
#[must_use]
pub fn phrases_help() -> String {
    let mut out = String::new();
    for verb in VERBS {
        let also = others(verb.words, verb.kind);
        out.push_str(&format!("{}{also}\n  {}\n", verb.kind, verb.example));
        for row in ROWS.iter().filter(|row| row.kinds.contains(&verb.kind)) {
            let also = match row.shape {
                Shape::Listed(list) if listed(list, row.example).is_some() => {
                    let words: Vec<&str> = list.iter().map(|(word, _)| *word).collect();
                    format!("  (one of {})", words.join(", "))
                }
                _ => row
                    .keys
                    .first()
                    .map_or(String::new(), |first| others(row.keys, first)),
            };
            out.push_str(&format!("  {}{also}\n", row.example));
        }
        out.push('\n');
    }
    out.push_str(RULES);
    out
}

/// What the tables cannot tell.
const RULES: &str = "\
A comma before a space parts phrases; any order will do; quotes hold a text with commas together.
A text that the journal holds already (a place, a medium, a container, a person) needs no first word.
Any field can also be said by its own name: stuck=26.
A look counts each cutting once, at its most advanced stage.
";

/// The other words that mean the same.
fn others(words: &[&str], shown: &str) -> String {
    let others: Vec<&str> = words
        .iter()
        .copied()
        .filter(|word| *word != shown)
        .collect();
    match others.is_empty() {
        true => String::new(),
        false => format!("  (also {})", others.join(", ")),
    }
}
