//! What several tests need: lines put together by hand, random entries, what no output may hold, a count of bytes sent.

#[path = "../../calibration/crps.rs"]
pub mod crps;
pub mod entries;
#[path = "../../fuzz/harm.rs"]
pub mod harm;
pub mod lines;
#[path = "../../simulated/mod.rs"]
pub mod simulated;

/// The seeds of a long test: all so many, or the piece of them that the proof at full size asks for, as `first:count`.
pub fn proof_seeds(all: u64) -> std::ops::Range<u64> {
    let asked = std::env::var("STRUCK_PROOF_SEEDS").ok();
    let Some((first, count)) = asked.as_deref().and_then(|it| it.split_once(':')) else {
        return 0..all;
    };
    let first: u64 = first.parse().unwrap();
    first..first + count.parse::<u64>().unwrap()
}

/// Takes bytes and counts them: what a terminal would have been sent.
#[derive(Clone, Debug, Default)]
pub struct ByteCount(std::rc::Rc<std::cell::Cell<u64>>);

impl ByteCount {
    /// How many bytes came so far.
    pub fn total(&self) -> u64 {
        self.0.get()
    }
}

impl std::io::Write for ByteCount {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.set(self.0.get() + bytes.len() as u64);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}
