//! How faults are worded: a name, a sentence, what it means and how a later line mends it.

use super::clean::shown;
use super::verdicts::reached;
use crate::fold::batch::Milestone;
use crate::model::fault::{BookFault, Fault, FaultKind, FileFault, LineFault};
use crate::model::value::{EntryFault, UnknownWord, Value};

/// What a fault means, and how it is mended without changing a line that stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FaultExplanation {
    /// Its name, as `check` prints it.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// How to mend it.
    pub mend: &'static str,
}

const fn explained(
    name: &'static str,
    meaning: &'static str,
    mend: &'static str,
) -> FaultExplanation {
    FaultExplanation {
        name,
        meaning,
        mend,
    }
}

/// Settling a line that makes no entry: the same for all of them.
const SETTLE: &str = "Enter what it should have said, then settle the line: `struck add \"withdraw NAME\"`, with the name given here.";

/// The same for the terminal: a key and what is typed after it, in place of a command.
#[must_use]
pub fn mend_at_the_bench(mend: &str) -> String {
    mend.replace("`struck add \"", "l, then `")
        .replace("\"`", "`")
}

/// Every fault and notice, with its meaning and its mend.
pub const ALL: [FaultExplanation; 28] = [
    explained(
        "not-a-file",
        "The name ends in .jsonl, but it is no regular file, so nothing was read from it.",
        "Take it out of the folder, or give it another name.",
    ),
    explained(
        "unreadable",
        "The system would not let the file be read, or not to its end.",
        "See that you may read it and that the disk is sound; then look again.",
    ),
    explained(
        "not-json",
        "The line is not JSON: half a line after a crash, or a typing slip.",
        SETTLE,
    ),
    explained(
        "not-an-object",
        "The line is JSON, but not an object in braces.",
        SETTLE,
    ),
    explained(
        "not-utf-8",
        "The line holds bytes that are no text: damage on the disk or on the way.",
        SETTLE,
    ),
    explained(
        "zero-bytes",
        "The line holds zero bytes: the disk lost a block of it, as after a power cut.",
        SETTLE,
    ),
    explained(
        "merge-mark",
        "A merge left its mark here instead of choosing. The lines on both sides count.",
        "Take the mark's line out in an editor, or settle it: `struck add \"withdraw NAME\"`. With `*.jsonl merge=union` in .gitattributes it will not happen again.",
    ),
    explained(
        "too-long",
        "The line is longer than 16 MiB and was passed over.",
        SETTLE,
    ),
    explained(
        "key-twice",
        "A field stands twice, so it cannot be told which value was meant.",
        SETTLE,
    ),
    explained(
        "crc-out-of-place",
        "The checksum is not the last field, or not eight lower-case hex digits.",
        SETTLE,
    ),
    explained(
        "missing-field",
        "A field is missing that this kind of entry must have.",
        SETTLE,
    ),
    explained("bad-value", "A field holds what it cannot.", SETTLE),
    explained(
        "unknown-kind",
        "The kind of entry is not known here, perhaps because a newer struck wrote it. It is kept and left out of the figures.",
        "Use a newer struck; if it is a slip, enter what was meant and settle the line: `struck add \"withdraw NAME\"`.",
    ),
    explained(
        "newer-version",
        "A newer struck wrote the line. It is kept and left out of the figures.",
        "Use a newer struck.",
    ),
    explained(
        "wrong-crc",
        "The line was changed since it was written, by hand or by damage. It reads, so it counts.",
        "If it says what it should, take the `crc` away by hand or amend the entry; if not, withdraw it: `struck add \"withdraw NAME\"`.",
    ),
    explained(
        "unknown-batch",
        "It names a batch that no stick began, so it counts nowhere.",
        "Enter the stick, or say which batch was meant: `struck add \"amend NAME: batch 26-001\"`.",
    ),
    explained(
        "ambiguous-batch",
        "Two batches that were open that day have this code, so it cannot be told which was meant.",
        "Say by the id of its stick which was meant: `struck add \"amend NAME: id ID\"`.",
    ),
    explained(
        "before-stick",
        "It is dated before its batch was stuck, so it counts nowhere.",
        "Amend its day, `struck add \"amend NAME: on DAY\"`, or that of the stick.",
    ),
    explained(
        "more-than-remain",
        "More are said to be counted, lost, potted, discarded or sold than there were. What is too many is in no figure.",
        "Amend the number here, as `struck add \"amend NAME: black 2\"`, or `stuck` if more were stuck, or enter the rest as lost, cause unknown.",
    ),
    explained(
        "same-id-differs",
        "Two lines have one id but say different things. One of them counts: one with a sound checksum, else the earlier.",
        "Withdraw the id, `struck add \"withdraw NAME\"`, and enter what is true.",
    ),
    explained(
        "amend-void",
        "The amend would make an entry that cannot be, so it changes nothing.",
        "Withdraw the amend, `struck add \"withdraw NAME\"`, and amend again.",
    ),
    explained(
        "ring",
        "Amends or withdraws name each other in a ring, so none of them changes anything.",
        "Withdraw one of them: `struck add \"withdraw NAME\"`.",
    ),
    explained(
        "missing-target",
        "It amends or withdraws an entry that is not in the journal, or not yet.",
        "Nothing, if the other machine's file has yet to come; else withdraw it: `struck add \"withdraw NAME\"`.",
    ),
    explained(
        "code-twice",
        "Two batches have one code. Their entries are kept apart by id, but people may mix them up.",
        "Give one another code, `struck add \"amend NAME: code 26-002\"`, and write it on its label.",
    ),
    explained(
        "backwards",
        "Fewer have come to a stage than an earlier look counted, even if losses are allowed for. Cuttings do not go back a stage, so one of the two looks is wrong.",
        "Look again; amend the look that was wrong, as `struck add \"amend NAME: rooted 7\"`.",
    ),
    explained(
        "discard-unexplained",
        "Cuttings were discarded from the bench without a reason, so they count as neither rooted nor lost.",
        "Say why: `struck add \"amend NAME: why surplus\"`.",
    ),
    explained(
        "unknown-word",
        "A field that only describes the cuttings holds a word that this version does not know. The entry counts; that field counts as not recorded.",
        "Use a newer struck; if it is a slip, amend it: `struck add \"amend NAME: wood softwood\"`.",
    ),
    explained(
        "day-ahead",
        "The entry is dated in the future.",
        "Amend its day: `struck add \"amend NAME: on DAY\"`.",
    ),
];

/// What a fault of this name means.
#[must_use]
pub fn explain(name: &str) -> Option<&'static FaultExplanation> {
    ALL.iter().find(|e| e.name == name)
}

/// The name of what is wrong, one of [`ALL`].
#[must_use]
pub fn name(wrong: &FaultKind) -> &'static str {
    match wrong {
        FaultKind::File(FileFault::NotAFile { .. }) => "not-a-file",
        FaultKind::File(FileFault::Unreadable { .. }) => "unreadable",
        FaultKind::Line(fault) => line_name(fault),
        FaultKind::Book(fault) => book_name(fault),
    }
}

fn line_name(fault: &LineFault) -> &'static str {
    match fault {
        LineFault::NotJson { .. } => "not-json",
        LineFault::NotObject => "not-an-object",
        LineFault::NotUtf8 { .. } => "not-utf-8",
        LineFault::ZeroBytes => "zero-bytes",
        LineFault::MergeMark => "merge-mark",
        LineFault::TooLong { .. } => "too-long",
        LineFault::DuplicateKey { .. } => "key-twice",
        LineFault::CrcOutOfPlace => "crc-out-of-place",
        LineFault::Entry(EntryFault::Missing { .. }) => "missing-field",
        LineFault::Entry(EntryFault::Bad { .. }) => "bad-value",
        LineFault::Entry(EntryFault::UnknownKind { .. }) => "unknown-kind",
        LineFault::Entry(EntryFault::NewerVersion { .. }) => "newer-version",
    }
}

fn book_name(fault: &BookFault) -> &'static str {
    match fault {
        BookFault::WrongCrc => "wrong-crc",
        BookFault::UnknownBatch { .. } => "unknown-batch",
        BookFault::AmbiguousBatch { .. } => "ambiguous-batch",
        BookFault::BeforeStick { .. } => "before-stick",
        BookFault::MoreThanRemain { .. } => "more-than-remain",
        BookFault::SameIdDiffers { .. } => "same-id-differs",
        BookFault::AmendVoid { .. } => "amend-void",
        BookFault::Ring { .. } => "ring",
        BookFault::MissingTarget { .. } => "missing-target",
        BookFault::CodeTwice { .. } => "code-twice",
        BookFault::Backwards { .. } => "backwards",
        BookFault::DiscardUnexplained => "discard-unexplained",
        BookFault::UnknownWord(_) => "unknown-word",
        BookFault::DayAhead { .. } => "day-ahead",
    }
}

/// The field that is at fault, if one is.
#[must_use]
pub fn field(wrong: &FaultKind) -> Option<&str> {
    match wrong {
        FaultKind::Line(LineFault::DuplicateKey { key, .. }) => Some(key),
        FaultKind::Line(LineFault::CrcOutOfPlace) | FaultKind::Book(BookFault::WrongCrc) => {
            Some("crc")
        }
        FaultKind::Line(LineFault::Entry(fault)) => entry_field(fault),
        FaultKind::Book(BookFault::AmendVoid { why, .. }) => entry_field(why),
        FaultKind::Book(BookFault::MoreThanRemain { field, .. }) => Some(field),
        FaultKind::Book(BookFault::BeforeStick { .. } | BookFault::DayAhead { .. }) => Some("at"),
        FaultKind::Book(
            BookFault::UnknownBatch { .. }
            | BookFault::AmbiguousBatch { .. }
            | BookFault::CodeTwice { .. },
        ) => Some("batch"),
        FaultKind::Book(BookFault::SameIdDiffers { .. }) => Some("id"),
        FaultKind::Book(BookFault::MissingTarget { .. } | BookFault::Ring { .. }) => Some("of"),
        FaultKind::Book(BookFault::DiscardUnexplained) => Some("why"),
        FaultKind::Book(BookFault::UnknownWord(word)) => Some(word.field),
        _ => None,
    }
}

fn entry_field(fault: &EntryFault) -> Option<&str> {
    match fault {
        EntryFault::Missing { field, .. } => Some(field),
        EntryFault::Bad { field, .. } => Some(field),
        EntryFault::UnknownKind { .. } => Some("kind"),
        EntryFault::NewerVersion { .. } => Some("v"),
    }
}

/// What is wrong, one sentence. Anything from the journal in it is made safe to show.
#[must_use]
pub fn sentence(wrong: &FaultKind) -> String {
    match wrong {
        FaultKind::File(FileFault::NotAFile { what }) => format!("It is {what}, not a file."),
        FaultKind::File(FileFault::Unreadable { reason }) => {
            format!("It could not be read: {}.", shown(reason))
        }
        FaultKind::Line(fault) => line_sentence(fault),
        FaultKind::Book(fault) => book_sentence(fault),
    }
}

/// The sentence of a fault, behind the code of the batch that it touches.
#[must_use]
pub fn of_batch(fault: &Fault) -> String {
    let sentence = sentence(&fault.wrong);
    match &fault.batch {
        Some(batch) => format!("{}: {sentence}", shown(batch)),
        None => sentence,
    }
}

fn line_sentence(fault: &LineFault) -> String {
    match fault {
        LineFault::NotJson { detail, byte } => {
            format!("Not JSON at byte {byte}: {}.", shown(detail))
        }
        LineFault::NotObject => "Not an object in braces.".into(),
        LineFault::NotUtf8 { byte } => format!("Not UTF-8 text from byte {byte} on."),
        LineFault::ZeroBytes => "Zero bytes where text should be.".into(),
        LineFault::MergeMark => "A mark left by a merge.".into(),
        LineFault::TooLong { bytes } => format!("The line has {bytes} bytes, more than are read."),
        LineFault::DuplicateKey {
            key,
            values: [first, second],
        } => {
            format!(
                "`{}` stands twice: {} and {}.",
                shown(key),
                shown(first),
                shown(second)
            )
        }
        LineFault::CrcOutOfPlace => {
            "`crc` must be the last field, eight lower-case hex digits.".into()
        }
        LineFault::Entry(fault) => entry_sentence(fault),
    }
}

/// Why fields make no entry, one sentence.
#[must_use]
pub fn entry_sentence(fault: &EntryFault) -> String {
    match fault {
        EntryFault::Missing { field, wanted } => format!("`{field}` is missing: {wanted}."),
        EntryFault::Bad {
            field,
            found,
            wanted,
        } => {
            format!(
                "`{}` is {}; it must be {wanted}.",
                shown(field),
                value(found)
            )
        }
        EntryFault::UnknownKind { kind } => format!("The kind `{}` is not known.", shown(kind)),
        EntryFault::NewerVersion { version } => {
            format!("Written in version {version} of the format.")
        }
    }
}

fn book_sentence(fault: &BookFault) -> String {
    match fault {
        BookFault::WrongCrc => "Changed since it was written, by hand or by damage.".into(),
        BookFault::UnknownBatch { code } => format!("No batch {} was stuck by then.", shown(code)),
        BookFault::AmbiguousBatch { code } => {
            format!("Two open batches have the code {}.", shown(code))
        }
        BookFault::BeforeStick { stuck_on } => {
            format!("Dated before the batch was stuck on {stuck_on}.")
        }
        BookFault::MoreThanRemain {
            field,
            said,
            remain,
        } => {
            format!(
                "`{}` says {said}, but only {remain} were there.",
                shown(field)
            )
        }
        BookFault::SameIdDiffers { id } => {
            format!("Another line with the id {id} says something else.")
        }
        BookFault::AmendVoid { of, why } => {
            format!("The amend of {of} makes no entry: {}", entry_sentence(why))
        }
        BookFault::Ring { of } => format!("It names {of}, which in the end names it."),
        BookFault::MissingTarget { of } => format!("No entry {of} is in the journal."),
        BookFault::CodeTwice { code } => format!("A second batch has the code {}.", shown(code)),
        BookFault::Backwards {
            milestone,
            expected,
            seen,
        } => {
            let stage = Milestone::from_word(milestone).map_or(*milestone, reached);
            format!("{seen} {stage} now, but {expected} before.")
        }
        BookFault::DiscardUnexplained => "Discarded from the bench without a reason.".into(),
        BookFault::UnknownWord(UnknownWord { field, word }) => format!(
            "`{field}` says \"{}\", a word that is not known: it counts as not recorded.",
            shown(word)
        ),
        BookFault::DayAhead { day } => format!("Dated {day}, which has yet to come."),
    }
}

/// A value as an error shows it, cut if it is long.
fn value(found: &Value) -> String {
    const LONGEST: usize = 40;
    let text = match found {
        Value::Null => "null".into(),
        Value::Bool(b) => b.to_string(),
        Value::Number(n) => n.to_string(),
        Value::Text(text) => format!("\"{}\"", shown(text)),
        Value::List(items) => format!("a list of {}", items.len()),
        Value::Map(fields) => format!("an object of {}", fields.len()),
    };
    if text.chars().count() <= LONGEST {
        return text;
    }
    text.chars().take(LONGEST - 1).chain(['…']).collect()
}

/// `goes the later entry of its batch`, of so many; nothing for none.
#[must_use]
pub fn going_with(count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some("goes the later entry of its batch".into()),
        many => Some(format!("go the {many} later entries of its batch")),
    }
}
