//! Recording: the screens that a recording key opens. They read and offer; the desk writes.

mod amend;
mod by;
pub mod drafts;
pub mod entry_screen;
mod line;
pub mod reading;
mod right_tray;
pub mod short;
mod stick;
mod typing;

pub use amend::{AmendScreen, resumed_amend};
pub use by::WhoScreen;
pub use line::LineScreen;
pub use right_tray::RightTrayScreen;
pub use stick::StickScreen;
