//! A reader with a ration: a file whose one row never ends is refused before it fills the memory. It knows no rows;
//! whoever reads them renews the ration at each.

use std::cell::Cell;
use std::io::{self, Read};
use std::rc::Rc;

/// Most bytes of one row, those that are read ahead among them: 1 MiB.
pub const ROW: usize = 1 << 20;

/// What may still be read; shared with whoever renews it.
#[derive(Clone, Debug)]
pub struct Ration(Rc<Cell<usize>>);

impl Ration {
    /// For one row.
    pub fn new() -> Self {
        Self(Rc::new(Cell::new(ROW)))
    }

    /// For the next row.
    pub fn renew(&self) {
        self.0.set(ROW);
    }
}

/// The reader.
pub struct Rationed<R> {
    inner: R,
    ration: Ration,
}

impl<R> Rationed<R> {
    /// Reads from `inner` as far as the ration goes.
    pub fn new(inner: R, ration: Ration) -> Self {
        Self { inner, ration }
    }
}

impl<R: Read> Read for Rationed<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let left = self.ration.0.get();
        if left == 0 && !buffer.is_empty() {
            return Err(io::Error::other(
                "a row is longer than 1 MiB; is a quote left open?",
            ));
        }
        let most = buffer.len().min(left);
        let count = self
            .inner
            .read(buffer.get_mut(..most).unwrap_or_default())?;
        self.ration.0.set(left.saturating_sub(count));
        Ok(count)
    }
}
