//! Lines of a pool: the rows that nurseries publish, and the aggregates that engines pass on. It gathers nothing.

use crate::analysis::pool::{
    PoolGroup, PooledAlias, PooledFacts, PooledInterval, PooledMeasures, RowContent, RowStamp,
    row_check,
};
use crate::fold::batch::Milestone;
use crate::fold::intervals::IntervalStatus;
use serde::Deserialize;
use std::fmt;

/// Why a line of a pool is not taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PoolLineFault {
    /// It has no end: the file was cut short.
    CutShort,
    /// It is no row and no aggregate.
    NoRow(String),
    /// It was changed since it was published: its crc does not fit.
    Changed,
    /// An aggregate of another version.
    Version(u32),
}

impl fmt::Display for PoolLineFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CutShort => write!(f, "cut short"),
            Self::NoRow(why) => write!(f, "neither a row nor an aggregate ({why})"),
            Self::Changed => write!(f, "changed since it was published (crc)"),
            Self::Version(version) => {
                write!(
                    f,
                    "an aggregate of version {version}, which this struck does not know"
                )
            }
        }
    }
}

/// A line of a pool.
#[derive(Debug)]
pub enum PoolLine<'a> {
    /// A row of a part.
    Row(RowStamp<'a>, RowContent),
    /// An aggregate.
    Group(Box<PoolGroup>),
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum RowSort {
    Batch,
    Interval,
    Alias,
}

/// What stamps a row, behind all else that it says.
#[derive(Deserialize)]
struct Stamp<'a> {
    row: RowSort,
    nursery: &'a str,
    season: i32,
    part: &'a str,
    at: u32,
    of: u32,
    crc: &'a str,
}

/// An interval's row, which there are most of, read at once.
#[derive(Deserialize)]
struct IntervalLine<'a> {
    nursery: &'a str,
    season: i32,
    batch: u32,
    milestone: Milestone,
    left: u32,
    right: Option<u32>,
    status: IntervalStatus,
    weight: f64,
    part: &'a str,
    at: u32,
    of: u32,
    crc: &'a str,
}

/// What an aggregate's line begins with.
const AGGREGATE: &str = "{\"aggregate\":";

/// What every row begins with.
const ROW: &str = "{\"row\":\"";

/// What an interval's row begins with.
const INTERVAL: &str = "{\"row\":\"interval\",";

/// What stands between a row and its stamp, and before the crc of both; inside a text of JSON neither can stand.
const STAMP: &str = ",\"part\":\"";
const CRC: &str = ",\"crc\":\"";

/// Where another line begins within a line, if one does: its beginning cannot stand inside a text of JSON.
#[must_use]
pub fn next_beginning(line: &str) -> Option<&str> {
    let begins = [AGGREGATE, ROW].map(|mark| line.rfind(mark).filter(|at| *at > 0));
    let at = begins.into_iter().flatten().max()?;
    line.get(at..)
}

fn failed(error: serde_json::Error) -> PoolLineFault {
    PoolLineFault::NoRow(error.to_string())
}

/// Reads a line without its end.
///
/// # Errors
/// Why it is not taken in.
pub fn read_line(line: &str) -> Result<PoolLine<'_>, PoolLineFault> {
    if line.starts_with(AGGREGATE) {
        let group: PoolGroup = serde_json::from_str(line).map_err(failed)?;
        if group.aggregate != PoolGroup::VERSION {
            return Err(PoolLineFault::Version(group.aggregate));
        }
        return Ok(PoolLine::Group(Box::new(group)));
    }
    let before = |mark: &str| line.rfind(mark).map_or(line, |end| &line[..end]);
    let check = row_check(before(STAMP).as_bytes());
    let (crc, stamp, content) = if line.starts_with(INTERVAL) {
        read_interval(line, check)?
    } else {
        read_other(line, check)?
    };
    if u32::from_str_radix(crc, 16) != Ok(row_check(before(CRC).as_bytes())) {
        return Err(PoolLineFault::Changed);
    }
    Ok(PoolLine::Row(stamp, content))
}

type Unchecked<'a> = (&'a str, RowStamp<'a>, RowContent);

fn read_interval(line: &str, check: u32) -> Result<Unchecked<'_>, PoolLineFault> {
    let read: IntervalLine = serde_json::from_str(line).map_err(failed)?;
    let stamp = RowStamp {
        part: read.part,
        nursery: read.nursery,
        season: read.season,
        at: read.at,
        of: read.of,
        check,
    };
    let interval = PooledInterval {
        batch: read.batch,
        milestone: read.milestone,
        left: read.left,
        right: read.right,
        status: read.status,
        weight: read.weight,
    };
    Ok((read.crc, stamp, RowContent::Interval(interval)))
}

fn read_other(line: &str, check: u32) -> Result<Unchecked<'_>, PoolLineFault> {
    let read: Stamp = serde_json::from_str(line).map_err(failed)?;
    let content = match read.row {
        RowSort::Batch => {
            let facts: PooledFacts = serde_json::from_str(line).map_err(failed)?;
            let measures: PooledMeasures = serde_json::from_str(line).map_err(failed)?;
            RowContent::Batch(Box::new((facts, measures)))
        }
        RowSort::Interval => return read_interval(line, check),
        RowSort::Alias => {
            let alias: PooledAlias = serde_json::from_str(line).map_err(failed)?;
            RowContent::Alias(alias)
        }
    };
    let stamp = RowStamp {
        part: read.part,
        nursery: read.nursery,
        season: read.season,
        at: read.at,
        of: read.of,
        check,
    };
    Ok((read.crc, stamp, content))
}
