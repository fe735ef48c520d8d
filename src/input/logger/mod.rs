//! A logger's table of readings as text: which column holds what, in which unit, and what a row says.
//! It opens no file and knows no clock: local times are given a zone by the desk.

pub mod column;
pub mod guess;
pub mod heading;
pub mod number;
pub mod row;
pub mod stamp;

pub use column::{Column, Role, Unit};
pub use guess::{Ask, Layout, NoLayout, layout};
pub use heading::heading;
pub use row::{Row, RowFault};
pub use stamp::{DayOrder, Stamp};
