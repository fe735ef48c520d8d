//! The verbs that open a line: the kind of entry each makes, and what stands right behind it. A table.

use super::lists::{DEED, listed};
use super::split::fold;

/// What stands right behind a verb, before the first comma or colon.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Head {
    /// Perhaps a code, a number, a taxon: `24 Weigela florida`.
    NewBatch,
    /// A code, and a number if the kind has one: `041 18`.
    Batch,
    /// A place: `bench A`.
    Place,
    /// Perhaps a number, a taxon, perhaps `by` a day: `60 Weigela florida by 1 May`.
    Taxon,
    /// A batch or a place, and for a treatment what was done.
    Subject,
    /// A batch or a place or neither, then text.
    Remark,
    /// The id of an entry, or a batch's code for its sticking.
    Reference,
    /// Nothing.
    Nothing,
}

/// A verb.
#[derive(Clone, Copy, Debug)]
pub(super) struct Verb {
    /// The kind it makes.
    pub kind: &'static str,
    /// Its words, the shown one first.
    pub words: &'static [&'static str],
    /// What follows.
    pub head: Head,
    /// A line to learn from.
    pub example: &'static str,
}

pub(super) const VERBS: &[Verb] = &[
    Verb {
        kind: "stick",
        words: &["stick", "stuck", "sticking", "strike"],
        head: Head::NewBatch,
        example: "stick 24 Weigela florida, semi-ripe, nodal, tip, 4 nodes, iba 3000 talc, in bark:perlite 1:1, tray, at bench A, mist, heat 21",
    },
    Verb {
        kind: "look",
        words: &[
            "look at",
            "looked at",
            "look",
            "looked",
            "inspect",
            "inspected",
            "inspection",
        ],
        head: Head::Batch,
        example: "look 26-041: callused 4, rooted 3, bottom 2, black 1",
    },
    Verb {
        kind: "pot",
        words: &[
            "pot up",
            "pot on",
            "pot off",
            "potted up",
            "potted on",
            "potted off",
            "line out",
            "lined out",
            "pot",
            "potted",
        ],
        head: Head::Batch,
        example: "pot 041 18, 9 cm",
    },
    Verb {
        kind: "ready",
        words: &["ready", "saleable", "salable"],
        head: Head::Batch,
        example: "ready 041 12, from pots",
    },
    Verb {
        kind: "sold",
        words: &["sold", "sell"],
        head: Head::Batch,
        example: "sold 041 10",
    },
    Verb {
        kind: "discard",
        words: &[
            "discard",
            "discarded",
            "throw out",
            "threw out",
            "thrown out",
        ],
        head: Head::Batch,
        example: "discard 041 5, given up",
    },
    Verb {
        kind: "move",
        words: &["move", "moved"],
        head: Head::Batch,
        example: "move 041 12 to frame 2, into 26-k050",
    },
    Verb {
        kind: "treat",
        words: &["treat", "treated", "treatment"],
        head: Head::Subject,
        example: "treat bench A: spray, with soap",
    },
    Verb {
        kind: "climate",
        words: &["climate"],
        head: Head::Place,
        example: "climate bench A: air 24.5, rh 82, medium 21, mist 10s/12min",
    },
    Verb {
        kind: "place",
        words: &["place"],
        head: Head::Place,
        example: "place bench A: mist, 40 trays, 12 nozzles, vpd 0.3-0.8",
    },
    Verb {
        kind: "taxon",
        words: &["taxon"],
        head: Head::Taxon,
        example: "taxon Weigela florida: protected, base 5, first look 10 days",
    },
    Verb {
        kind: "nursery",
        words: &["nursery"],
        head: Head::Nothing,
        example: "nursery season from 08-01, units C",
    },
    Verb {
        kind: "target",
        words: &["target", "wanted", "want"],
        head: Head::Taxon,
        example: "target 60 Weigela florida by 2027-05-01, softwood",
    },
    Verb {
        kind: "remark",
        words: &["remark", "note"],
        head: Head::Remark,
        example: "remark 26-041: leaves yellow, again in 3 days",
    },
    Verb {
        kind: "amend",
        words: &["amend", "amended", "correct"],
        head: Head::Reference,
        example: "amend 26-041: stuck 26, no medium",
    },
    Verb {
        kind: "withdraw",
        words: &["withdraw", "withdrawn", "take back"],
        head: Head::Reference,
        example: "withdraw 01JZ0000000000000000000000, because wrong tray",
    },
];

/// The verb at the head of a line, how many bytes it takes, and the deed if a treatment is named by what is done
/// (`wean 041`).
pub(super) fn verb(line: &str) -> Option<(&'static Verb, usize, Option<&'static str>)> {
    let ends = word_ends(line);
    // The longest first, so that `pot up` is not `pot` and `up`.
    for end in ends.iter().rev() {
        let typed = fold(line[..*end].trim_end_matches(':'));
        let bare = line[..*end].trim_end_matches(':').len();
        if let Some(verb) = VERBS
            .iter()
            .find(|verb| verb.words.contains(&typed.as_str()))
        {
            return Some((verb, bare, None));
        }
        if let Some(deed) = listed(DEED, &typed).filter(|deed| *deed != "other") {
            let treat = VERBS.iter().find(|verb| verb.kind == "treat")?;
            return Some((treat, bare, Some(deed)));
        }
    }
    None
}

/// Where each of the first two words ends, in bytes.
fn word_ends(line: &str) -> Vec<usize> {
    let mut ends = Vec::new();
    let mut inside = false;
    for (at, c) in line.char_indices() {
        if c.is_whitespace() && inside {
            ends.push(at);
        }
        inside = !c.is_whitespace();
        if ends.len() == 2 {
            return ends;
        }
    }
    if inside {
        ends.push(line.len());
    }
    ends
}
