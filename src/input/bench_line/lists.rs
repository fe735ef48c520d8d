//! The listed words of the journal with all that is understood for them when typed, and which of several texts a
//! mistyped one is nearest to.

use super::split::{fold, folds_to, folds_to_begin};
use crate::input::fuzzy;

/// A word as the journal has it, and the other words that mean it (lower case, spaces for hyphens).
pub(super) type Listed = &'static [(&'static str, &'static [&'static str])];

pub(super) const WOOD: Listed = &[
    (
        "softwood",
        &["soft wood", "soft", "new growth", "soft growth"],
    ),
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
    (
        "hardwood",
        &["hard wood", "hard", "dormant", "dormant wood", "ripe wood"],
    ),
    ("herbaceous", &["herb", "soft stem"]),
];
pub(super) const CUT: Listed = &[
    (
        "nodal",
        &["below a node", "at a node", "below node", "node"],
    ),
    ("internodal", &["inter nodal", "between nodes"]),
    ("heel", &["heeled", "heels"]),
    ("mallet", &[]),
    ("basal", &[]),
];
pub(super) const PIECE: Listed = &[
    (
        "tip",
        &["tips", "terminal", "top", "tops", "shoot tip", "shoot tips"],
    ),
    (
        "middle",
        &[
            "mid",
            "mid stem",
            "medial",
            "no tip",
            "no tips",
            "tip off",
            "tip removed",
            "tips removed",
            "tip out",
            "tips out",
            "stem",
        ],
    ),
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
    ("mist", &["misted", "intermittent mist"]),
    ("fog", &["fogged"]),
    (
        "case",
        &[
            "closed case",
            "propagation case",
            "propagating case",
            "heated case",
        ],
    ),
    (
        "frame",
        &["closed frame", "cold frame", "coldframe", "shaded frame"],
    ),
    (
        "box",
        &[
            "lidded box",
            "box lid",
            "lidded tray",
            "covered box",
            "plastic box",
            "clear box",
            "propagator",
            "heated propagator",
            "electric propagator",
            "lid",
            "lid on",
            "clear lid",
        ],
    ),
    (
        "film",
        &[
            "plastic film",
            "polythene",
            "plastic",
            "poly",
            "plastic sheet",
            "polythene sheet",
        ],
    ),
    (
        "tent",
        &[
            "plastic bag",
            "polythene bag",
            "bag",
            "plastic tent",
            "polythene tent",
            "poly tent",
        ],
    ),
    (
        "open",
        &["no cover", "uncovered", "no lid", "lid off", "outdoors"],
    ),
];
pub(super) const CARRIER: Listed = &[
    ("talc", &["powder", "dust", "talcum"]),
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
    (
        "eaten",
        &["pests", "grazed", "mice", "slugs", "slug damage"],
    ),
    ("winter", &["frost", "frosted", "cold", "winter loss"]),
    ("other", &["other cause"]),
    ("unknown", &["cause unknown", "unknown cause"]),
];
pub(super) const DISCARDED: Listed = &[
    ("given-up", &["gave up", "give up"]),
    ("surplus", &["too many", "spare"]),
    ("restuck", &["re stuck", "stuck again", "recut"]),
    ("unlabelled", &["unlabeled", "no label", "label lost"]),
    (
        "accident",
        &[
            "accidents",
            "dropped",
            "dropped tray",
            "knocked over",
            "spilt",
            "spilled",
            "fell",
            "tipped over",
            "power cut",
            "trodden on",
            "vent left open",
        ],
    ),
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

/// Small words before a listed one that change nothing: `in a lidded box`, `with a heel`.
const LEADING: [&str; 9] = ["in", "a", "an", "the", "under", "with", "of", "some", "as"];

/// The word of a list that a typed one means, which is evened out already.
pub(super) fn listed_folded(list: Listed, typed: &str) -> Option<&'static str> {
    let exact = |typed: &str| {
        let means = |(word, also): &&(&'static str, &'static [&'static str])| {
            folds_to(word, typed) || also.contains(&typed)
        };
        list.iter().find(means).map(|(word, _)| *word)
    };
    let trailing = [" cuttings", " cutting"];
    let bare = trailing.iter().find_map(|word| typed.strip_suffix(word));
    exact(typed)
        .or_else(|| exact(bare?))
        .or_else(|| exact(without_leading(bare.unwrap_or(typed))?))
}

/// An evened-out text without the small words at its head; nothing if there is none, or nothing else.
pub(super) fn without_leading(typed: &str) -> Option<&str> {
    let mut rest = typed;
    while let Some((first, more)) = rest.split_once(' ') {
        if !LEADING.contains(&first) {
            break;
        }
        rest = more;
    }
    (rest.len() < typed.len() && !LEADING.contains(&rest)).then_some(rest)
}

/// Words of a medium. A phrase of nothing else, and of [`MIXING`] words and figures, is one.
const MEDIA: [&str; 19] = [
    "sand",
    "peat",
    "perlite",
    "vermiculite",
    "bark",
    "grit",
    "coir",
    "compost",
    "loam",
    "leafmould",
    "pumice",
    "rockwool",
    "sphagnum",
    "moss",
    "gravel",
    "sawdust",
    "rice",
    "hulls",
    "water",
];

/// Words that join or describe the parts of a medium.
const MIXING: [&str; 33] = [
    "and",
    "with",
    "plus",
    "parts",
    "part",
    "to",
    "in",
    "a",
    "the",
    "half",
    "equal",
    "mix",
    "mixed",
    "straight",
    "pure",
    "just",
    "fine",
    "coarse",
    "medium",
    "sharp",
    "horticultural",
    "potting",
    "seed",
    "cutting",
    "multipurpose",
    "free",
    "ericaceous",
    "composted",
    "gritty",
    "pine",
    "washed",
    "sieved",
    "damp",
];

/// Whether a text is nothing but a medium: `sand and peat`, `50:50 peat/perlite`, `2 parts bark 1 part grit`.
pub(super) fn is_medium(text: &str) -> bool {
    let folded = fold(text);
    let words = folded.split([' ', '/', ':', '+', '&', ',']);
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let named = |word: &&str| MEDIA.contains(word);
    let figure = |word: &str| word.bytes().all(|b| b.is_ascii_digit() || b == b'%');
    let fits = |word: &&str| named(word) || MIXING.contains(word) || figure(word);
    // `compost bark:perlite` says which by its first word.
    let keyed = words.len() > 1 && matches!(words[0], "compost" | "medium" | "mix" | "substrate");
    let joined = words.get(1).is_some_and(|word| MIXING.contains(word));
    words.iter().all(fits) && words.iter().any(named) && (!keyed || joined)
}

/// Words for a place where cuttings stand, so that `frame 1` is one.
const STANDS: [&str; 22] = [
    "bench",
    "frame",
    "box",
    "case",
    "tunnel",
    "polytunnel",
    "greenhouse",
    "glasshouse",
    "house",
    "shed",
    "bed",
    "windowsill",
    "sill",
    "porch",
    "conservatory",
    "unit",
    "bay",
    "shelf",
    "table",
    "propagator",
    "tent",
    "row",
];

/// Places that need no number.
const LONE_STANDS: [&str; 9] = [
    "polytunnel",
    "greenhouse",
    "glasshouse",
    "windowsill",
    "porch",
    "conservatory",
    "shed",
    "bench",
    "shelf",
];

/// Words that may describe such a place.
const STAND_WORDS: [&str; 22] = [
    "mist",
    "fog",
    "cold",
    "hot",
    "heated",
    "warm",
    "cool",
    "back",
    "front",
    "top",
    "bottom",
    "north",
    "south",
    "east",
    "west",
    "long",
    "propagation",
    "potting",
    "shade",
    "old",
    "new",
    "big",
];

/// Whether a text is a place by its words: `frame 1`, `mist bench B`, `greenhouse`.
pub(super) fn is_place(text: &str) -> bool {
    let folded = fold(text);
    let words: Vec<&str> = folded.split(' ').collect();
    let number = |word: &str| {
        word.bytes().all(|b| b.is_ascii_digit())
            || (word.len() == 1 && word.bytes().all(|b| b.is_ascii_alphabetic()))
    };
    let described = |before: &[&str]| before.iter().all(|word| STAND_WORDS.contains(word));
    match words.as_slice() {
        [before @ .., noun, last] if number(last) && STANDS.contains(noun) => described(before),
        [before @ .., last] if LONE_STANDS.contains(last) => described(before),
        _ => false,
    }
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
