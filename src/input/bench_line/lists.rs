//! The listed words of the journal with all that is understood for them when typed, and which of several texts a
//! mistyped one is nearest to.

use super::split::{fold, folds_to, folds_to_begin};
use crate::input::fuzzy;

/// A word as the journal has it, and the other words that mean it (lower case, spaces for hyphens).
pub(super) type Listed = &'static [(&'static str, &'static [&'static str])];

pub(super) const WOOD: Listed = &[
    ("softwood", &["soft wood", "soft"]),
    ("greenwood", &["green wood"]),
    (
        "semi-ripe",
        &[
            "semiripe",
            "semi hardwood",
            "semihardwood",
            "semi hard",
            "semihard",
            "half ripe",
            "semi ripe wood",
        ],
    ),
    ("hardwood", &["hard wood", "hard", "dormant"]),
    ("herbaceous", &["herb", "soft stem"]),
];
pub(super) const CUT: Listed = &[
    ("nodal", &["below a node", "at a node"]),
    ("internodal", &["inter nodal", "between nodes"]),
    ("heel", &["with a heel", "heeled"]),
    ("mallet", &[]),
    ("basal", &[]),
];
pub(super) const PIECE: Listed = &[
    ("tip", &["tips", "terminal", "top"]),
    ("middle", &["mid", "mid stem", "medial"]),
    ("base", &["bottom piece"]),
    ("leaf-bud", &["leafbud"]),
    ("leaf", &[]),
    ("root", &["root piece"]),
];
pub(super) const FIRMNESS: Listed = &[
    ("bends", &["bend", "bendy", "soft and bends"]),
    ("snaps", &["snap", "snapped"]),
    ("rigid", &["stiff"]),
];
pub(super) const COVER: Listed = &[
    ("mist", &["under mist", "misted"]),
    ("fog", &["under fog"]),
    ("case", &["closed case"]),
    ("frame", &["closed frame", "cold frame"]),
    ("box", &["lidded box"]),
    ("film", &["plastic film", "polythene"]),
    ("tent", &[]),
    ("open", &["no cover", "uncovered"]),
];
pub(super) const CARRIER: Listed = &[
    ("talc", &["powder", "dust"]),
    ("gel", &[]),
    ("liquid", &["quick dip", "solution", "soak"]),
    ("spray", &["sprayed", "foliar"]),
];
pub(super) const HOW: Listed = &[
    ("lift", &["lifted", "lifted out"]),
    ("tug", &["tugged", "pull", "pulled"]),
    (
        "under",
        &["holes", "pot holes", "underneath", "looked under"],
    ),
    ("glance", &["glanced", "at a glance"]),
];
pub(super) const GUESS: Listed = &[
    ("none", &[]),
    ("few", &["a few", "some"]),
    ("half", &["about half", "half of them"]),
    ("most", &["mostly", "most of them"]),
    ("all", &["all of them"]),
];
pub(super) const CAUSE: Listed = &[
    (
        "blackened",
        &[
            "black",
            "blackening",
            "black base",
            "rot",
            "rotted",
            "rotten",
            "rotting",
        ],
    ),
    (
        "wilted",
        &[
            "wilt",
            "wilting",
            "dried",
            "dried out",
            "dry",
            "shrivelled",
            "shriveled",
        ],
    ),
    (
        "mould",
        &[
            "mold",
            "mouldy",
            "moldy",
            "moulded",
            "grey mould",
            "gray mold",
        ],
    ),
    ("eaten", &["pests", "grazed"]),
    ("winter", &["frost", "frosted", "cold", "winter loss"]),
    ("other", &["other cause"]),
    ("unknown", &["cause unknown", "unknown cause"]),
];
pub(super) const DISCARDED: Listed = &[
    ("given-up", &["gave up", "give up"]),
    ("surplus", &["too many", "spare"]),
    ("restuck", &["re stuck", "stuck again", "recut"]),
    ("unlabelled", &["unlabeled", "no label", "label lost"]),
];
pub(super) const COUNTED_FROM: Listed =
    &[("bench", &["the bench"]), ("pots", &["pot", "the pots"])];
pub(super) const DEED: Listed = &[
    ("mist", &["misted"]),
    ("vent", &["vented", "air", "aired"]),
    ("uncover", &["uncovered", "lid off"]),
    ("wean", &["weaned", "harden off", "hardened off"]),
    ("shade", &["shaded"]),
    ("heat", &["heated"]),
    ("water", &["watered"]),
    ("feed", &["fed", "fertilise", "fertilize"]),
    (
        "spray",
        &["sprayed", "fungicide", "pesticide", "insecticide"],
    ),
    ("pinch", &["pinched", "pinched out", "trimmed"]),
    ("pick-over", &["picked over", "pick out", "tidied"]),
    ("clean", &["cleaned", "disinfect", "disinfected", "bleach"]),
    ("other", &["other treatment"]),
];
pub(super) const UNITS: Listed = &[
    ("C", &["°c", "celsius", "metric", "mm"]),
    ("F", &["°f", "fahrenheit", "inches"]),
];

/// The active substances known by their letters, as written.
pub(super) const ACTIVES: &[&str] = &["IBA", "NAA", "IAA", "K-IBA", "K-NAA", "KIBA", "KNAA"];

/// Words at whose end a text is a container without more ado, and the word shown instead where there are two.
pub(super) const CONTAINERS: &[(&str, &str)] = &[
    ("tray", "tray"),
    ("trays", "trays"),
    ("cell", "cell"),
    ("cells", "cells"),
    ("pot", "pot"),
    ("pots", "pots"),
    ("flat", "tray"),
    ("flats", "trays"),
    ("plug", "cell"),
    ("plugs", "cells"),
    ("module", "cell"),
    ("modules", "cells"),
];

/// The word of a list that a typed one means, whatever its case and hyphens.
pub(super) fn listed(list: Listed, typed: &str) -> Option<&'static str> {
    listed_folded(list, &fold(typed))
}

/// The word of a list that a typed one means, which is evened out already.
pub(super) fn listed_folded(list: Listed, typed: &str) -> Option<&'static str> {
    let means = |(word, also): &&(&'static str, &'static [&'static str])| {
        folds_to(word, typed) || also.contains(&typed)
    };
    list.iter().find(means).map(|(word, _)| *word)
}

/// The nearest of several texts: the only one that begins with what was typed, else one that differs by few letters.
pub(super) fn nearest<'a>(typed: &str, among: &[&'a str]) -> Option<&'a str> {
    // A paragraph is no slip for a word, and comparing it would take long.
    if typed.len() > 80 {
        return None;
    }
    let folded = fold(typed);
    let mut begun = among.iter().filter(|text| folds_to_begin(text, &folded));
    let first = begun.next().filter(|_| folded.len() >= 2);
    match (first, begun.next()) {
        (Some(only), None) => Some(only),
        _ => fuzzy::nearest(&folded, among),
    }
}

#[cfg(test)]
mod nearest_tests {
    use super::nearest;

    #[test]
    fn a_slip_or_a_beginning_is_near_and_another_word_is_not() {
        let words = ["rooted", "callused", "bottom"];
        assert_eq!(nearest("rotoed", &words), Some("rooted"));
        assert_eq!(nearest("cal", &words), Some("callused"));
        assert_eq!(nearest("greenhouse", &words), None);
    }
}
