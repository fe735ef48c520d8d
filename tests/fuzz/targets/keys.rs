//! Feeds any bytes to the law of `keys`. See `laws.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| struck_fuzz::laws::keys(bytes));
