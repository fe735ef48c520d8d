//! Names of cultivated plants: their parts, how they are shown, when two are one. It refuses no name
//! and knows no list of plants: what it cannot read it keeps as typed.

mod lex;
mod parts;
mod read;

use parts::NameNote;
pub use parts::{CultivarGroup, NameVerdict, Rank, Sign};

/// Text that stands whole, not put together from parts: a formula, or what was not understood.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Whole {
    shown: String,
    key: String,
}

/// A plant's name, read as far as it can be read.
///
/// Made by [`Taxon::parse`], which takes any text. Two names are the same plant when their
/// [`Taxon::key`]s are equal.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Taxon {
    sign: Sign,
    genus: String,
    species_sign: Sign,
    species: String,
    infra: Vec<(Rank, String)>,
    group: Option<CultivarGroup>,
    cultivar: String,
    whole: Option<Whole>,
    unread: String,
    trailing: String,
    notes: Vec<NameNote>,
}

fn filled(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

impl Taxon {
    /// The genus without its sign, capitalised (of the first parent in a formula): what names are
    /// pooled by when a taxon alone has too few batches. None if the text begins otherwise.
    #[must_use]
    pub fn genus(&self) -> Option<&str> {
        filled(&self.genus)
    }

    /// The sign before the genus.
    #[must_use]
    pub fn sign(&self) -> Sign {
        self.sign
    }

    /// The species epithet without its sign.
    #[must_use]
    pub fn species(&self) -> Option<&str> {
        filled(&self.species)
    }

    /// Whether `×` stands before the species epithet.
    #[must_use]
    pub fn is_nothospecies(&self) -> bool {
        self.species_sign == Sign::Cross
    }

    /// The lowest rank below the species, if one is named.
    #[must_use]
    pub fn rank(&self) -> Option<Rank> {
        self.infra.last().map(|(rank, _)| *rank)
    }

    /// The epithet at the lowest rank below the species.
    #[must_use]
    pub fn infra(&self) -> Option<&str> {
        self.infra.last().map(|(_, epithet)| epithet.as_str())
    }

    /// The cultivar epithet without its quotes.
    #[must_use]
    pub fn cultivar(&self) -> Option<&str> {
        filled(&self.cultivar)
    }

    /// The Group or grex.
    #[must_use]
    pub fn group_or_grex(&self) -> Option<&CultivarGroup> {
        self.group.as_ref()
    }

    /// Whether the name was read as one genus with its parts: no formula, and not wholly as typed.
    #[must_use]
    pub fn has_parts(&self) -> bool {
        self.whole.is_none() && !self.genus.is_empty()
    }

    /// What was not understood and is kept as typed: trade designations, authors, remarks.
    #[must_use]
    pub fn unread(&self) -> Option<String> {
        let both = [self.unread.as_str(), self.trailing.as_str()];
        let text = join(both.into_iter());
        (!text.is_empty()).then_some(text)
    }

    /// How the name as typed stands under the codes: the gravest of the notes.
    #[must_use]
    pub fn verdict(&self) -> NameVerdict {
        let verdicts = self.notes.iter().map(NameNote::verdict);
        verdicts.max().unwrap_or(NameVerdict::Valid)
    }

    /// The name in its normal form, such as `Lavandula ×intermedia 'Grosso'`. Reading it again
    /// gives the same. It may still hold characters unfit for a terminal: clean it before showing.
    #[must_use]
    pub fn shown(&self) -> String {
        if let Some(whole) = &self.whole {
            return whole.shown.clone();
        }
        let genus = format!("{}{}", self.sign.mark(), self.genus);
        let species = format!("{}{}", self.species_sign.mark(), self.species);
        let infra = self.infra.iter().map(|(r, e)| format!("{} {e}", r.shown()));
        let infra: Vec<String> = infra.collect();
        let group = self.group_shown();
        let cultivar = quoted(&self.cultivar);
        let head = [genus.as_str(), species.as_str()].into_iter();
        let tail = [&self.unread, &group, &cultivar, &self.trailing];
        let parts = head.chain(infra.iter().map(String::as_str));
        join(parts.chain(tail.into_iter().map(String::as_str)))
    }

    /// A Group stands in brackets before a cultivar, and after anything unread, so that it stays
    /// clear where its name begins.
    fn group_shown(&self) -> String {
        let Some(group) = &self.group else {
            return String::new();
        };
        let before_cultivar = !self.cultivar.is_empty() && !group.grex;
        if before_cultivar || !self.unread.is_empty() {
            format!("({})", group.shown())
        } else {
            group.shown()
        }
    }

    /// The comparing key: `×` and `notho-` left out (ICN Art. H.3.3), case, spaces, quotes, dashes
    /// folded. Of several ranks below the species only the lowest counts (ICN Art. 24), and the
    /// order of a formula's parents does not.
    #[must_use]
    pub fn key(&self) -> String {
        if let Some(whole) = &self.whole {
            return whole.key.clone();
        }
        let graft = if self.sign == Sign::Graft { "+" } else { "" };
        let genus = format!("{graft}{}", self.genus);
        let infra = self.infra.last();
        let infra = infra.map_or(String::new(), |(r, e)| format!("{} {e}", r.level.mark()));
        let group = self.group.as_ref();
        let group = group.map_or(String::new(), |g| format!("({})", g.shown()));
        let cultivar = quoted(&self.cultivar);
        let parts = [
            &genus,
            &self.species,
            &infra,
            &self.unread,
            &group,
            &cultivar,
            &self.trailing,
        ];
        lex::fold(&join(parts.into_iter().map(String::as_str)))
    }
}

fn quoted(cultivar: &str) -> String {
    if cultivar.is_empty() {
        String::new()
    } else {
        format!("'{cultivar}'")
    }
}

fn join<'a>(parts: impl Iterator<Item = &'a str>) -> String {
    let parts: Vec<&str> = parts.filter(|p| !p.is_empty()).collect();
    parts.join(" ")
}
