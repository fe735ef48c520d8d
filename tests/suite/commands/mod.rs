//! The real program, run with an empty environment and a clock that stands still: what it prints, and where.

mod adding;
mod air;
mod checking;
mod comparing;
mod csv_tables;
mod due;
pub mod far_days;
mod forecasting;
mod handing_out;
pub mod hostile;
mod importing;
mod loggers;
mod pooling;
mod printing;
mod proved;
mod reading;
mod readme;
pub mod run;
mod season;
mod shapes;
mod unread;
