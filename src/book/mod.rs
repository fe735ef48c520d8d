//! The trade, pure: entries, names, the fold, batches, timelines. It knows no file, clock, JSON or screen.
