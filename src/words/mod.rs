//! How things are said and typed words understood. It touches no file and no clock.
