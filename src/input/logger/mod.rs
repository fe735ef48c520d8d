//! A logger's table of readings as text: which column holds what, in which unit, and what a row says.
//! It opens no file and knows no clock: `app` gives local times their zone.

pub mod column;
pub mod guess;
pub mod heading;
pub mod long;
pub mod row;
pub mod stamp;

pub use column::{ColumnRole, LoggerColumn, ReadingUnit};
pub use guess::{LayoutFault, LayoutQuestion, LoggerLayout, layout};
pub use row::{LoggerRow, RowFault};
pub use stamp::{DayOrder, LoggerStamp};
