//! Recording: the screens that a recording key opens. They read and offer; the desk writes.

mod amend;
mod by;
pub mod drafts;
pub mod entry_screen;
mod line;
pub mod reading;
pub mod short;
mod stick;
mod typing;

pub use amend::{AmendScreen, resumed_amend};
pub use by::WhoScreen;
pub use line::LineScreen;
pub use stick::StickScreen;
