//! The terminal: the only room that knows ratatui and crossterm. It touches no file and no clock.
