//! Feeds any bytes to the law of `bench_line`. See `laws.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| struck_fuzz::laws::bench_line(bytes));
