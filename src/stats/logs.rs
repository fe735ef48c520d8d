//! Natural logarithms of many numbers at once. The same digits on every machine, since nothing but sums, products and
//! quotients makes them.

/// So many are worked on side by side.
pub const ABREAST: usize = 8;

/// The bits of an exponent and a sign.
const SHIFT: u32 = 52;
/// The bits of √½, from which on a mantissa is taken with its own exponent.
const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
/// The coefficients of (ln(1 + s) − ln(1 − s)) / s − 2 in s².
const SERIES: [f64; 7] = [
    6.666_666_666_666_735e-1,
    3.999_999_999_940_942e-1,
    2.857_142_874_366_239e-1,
    2.222_219_843_214_978_4e-1,
    1.818_357_216_161_805e-1,
    1.531_383_769_920_937_3e-1,
    1.479_819_860_511_658_6e-1,
];
/// ln 2 in two parts, the first of few digits.
const LN_2: [f64; 2] = [6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10];

/// The natural logarithm of a positive number, to within one unit in the last place (the method of `e_log.c` in FDLIBM,
/// Sun Microsystems 1993); minus infinity of anything smaller than numbers of full precision.
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    let bits = x.to_bits();
    // The exponent with which the mantissa lies between √½ and √2.
    let steps = bits.wrapping_sub(ROOT_HALF) & (u64::MAX << SHIFT);
    let mantissa = f64::from_bits(bits.wrapping_sub(steps));
    // A number of 52 bits as a float, without a conversion that vectors lack.
    const WHOLE: u64 = 0x4330_0000_0000_0000;
    let biased = (steps.wrapping_add(1 << 63)) >> SHIFT;
    let exponent = f64::from_bits(biased | WHOLE) - (f64::from_bits(WHOLE) + 2048.0);
    let f = mantissa - 1.0;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let odd = z * (SERIES[0] + w * (SERIES[2] + w * (SERIES[4] + w * SERIES[6])));
    let even = w * (SERIES[1] + w * (SERIES[3] + w * SERIES[5]));
    let half = 0.5 * f * f;
    let inner = s * (half + (odd + even)) + exponent * LN_2[1];
    let found = exponent * LN_2[0] - ((half - inner) - f);
    if x >= f64::MIN_POSITIVE {
        found
    } else {
        f64::NEG_INFINITY
    }
}
