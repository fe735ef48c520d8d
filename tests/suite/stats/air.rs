//! Air, light, warmth: FAO-56, ASHRAE and UC IPM values.

use struck::stats::air;
use struck::stats::air::{Reading, Window};

use super::published::{Row, rows, run, table};

/// FAO-56 equation 11 and ASHRAE's formula differ by up to this share between 0.5 and 45 °C.
const FORMULAS_DIFFER: f64 = 0.0011;

/// Checks the rows on water vapour; false when the row is on something else.
fn vapour(row: &Row) -> bool {
    let text = &row.dataset;
    let t = Row::named(text, "T=");
    let at = || (t.unwrap(), Row::named(text, "RH=").unwrap());
    let kpa = || Row::named(text, "P=").unwrap() / 1000.0;
    match row.quantity.as_str() {
        "es_kPa_FAO56" => row.check(air::saturation_kpa(t.unwrap()).unwrap()),
        "vpd_kPa_FAO56" => row.check(air::deficit_kpa(at().0, at().1).unwrap()),
        "dewpoint_C_FAO56_inverse" => row.check(air::dew_point(at().0, at().1).unwrap()),
        leaf if leaf.starts_with("leaf_to_air_vpd_kPa_FAO56") => {
            let leaf = Row::named(leaf, "leaf=").unwrap();
            row.check(air::leaf_deficit_kpa(leaf, at().0, at().1).unwrap());
        }
        "psat_Pa_ASHRAE" => {
            let got = 1000.0 * air::saturation_kpa(t.unwrap()).unwrap();
            // At 50 °C, past that range, they differ by 0.118 %.
            let past = if t.unwrap() > 45.0 { 1.1 } else { 1.0 };
            row.check_within(got, past * FORMULAS_DIFFER * row.expected());
        }
        "vpd_kPa_ASHRAE" => {
            let got = air::deficit_kpa(at().0, at().1).unwrap();
            row.check_within(got, FORMULAS_DIFFER * row.expected());
        }
        "humidity_ratio_kg_per_kg" => {
            let got = air::humidity_ratio(at().0, at().1, kpa()).unwrap();
            // The ratio e/(P − e) widens the difference of e a little.
            row.check_within(got, 1.1 * FORMULAS_DIFFER * row.expected());
        }
        "wetbulb_C_ASHRAE" => row.check_within(air::wet_bulb(at().0, at().1, kpa()).unwrap(), 0.02),
        // Below freezing ASHRAE's dew point is over ice (a frost point), ours over water.
        "dewpoint_C_ASHRAE" if row.expected() > 0.0 => {
            row.check_within(air::dew_point(at().0, at().1).unwrap(), 0.02);
        }
        _ => return examples(row),
    }
    true
}

/// The worked examples of FAO-56, pages 69 to 72.
fn examples(row: &Row) -> bool {
    let held = || {
        let morning = air::vapour_pressure_kpa(18.0, 82.0).unwrap();
        0.5 * (morning + air::vapour_pressure_kpa(25.0, 54.0).unwrap())
    };
    let got = match row.dataset.as_str() {
        "FAO-56 Example 3 p.69" => {
            0.5 * (air::saturation_kpa(24.5).unwrap() + air::saturation_kpa(15.0).unwrap())
        }
        "FAO-56 Example 5 p.72" => held(),
        "FAO-56 Example 6" => {
            let saturated =
                0.5 * (air::saturation_kpa(25.0).unwrap() + air::saturation_kpa(18.0).unwrap());
            saturated - held()
        }
        _ => return false,
    };
    row.check(got);
    true
}

fn degree_days(row: &Row) -> bool {
    let part = |key| Row::named(&row.dataset, key);
    let (Some(low), Some(base)) = (part("Tmin="), part("lower=")) else {
        return false;
    };
    let Some(high) = part("Tmax=") else {
        // A published page gives only the mean, 64 °F, above 53 °F: a day that never changes.
        row.check(
            air::DayRange::new(64.0, 64.0, base, None)
                .unwrap()
                .single_sine(),
        );
        return true;
    };
    let cut = air::DayRange::new(low, high, base, part("upper=")).unwrap();
    let open = air::DayRange::new(low, high, base, None).unwrap();
    row.check(match row.quantity.as_str() {
        "dd_single_sine_lower_only" => open.single_sine(),
        "dd_single_sine_horizontal" => cut.single_sine(),
        _ => return false,
    });
    true
}

#[test]
fn every_published_environment_row_is_met() {
    let all = rows("expected_environment");
    let sine = "degree-days are by the sine method or by the readings themselves";
    let skipped = [
        (
            "dewpoint_C_ASHRAE",
            "two rows below freezing, where ASHRAE's is a frost point over ice and ours is over water",
        ),
        (
            "slope_kPa_per_C_FAO56",
            "the slope of the curve is not used",
        ),
        ("std_pressure_Pa", "air pressure is not recorded"),
        (
            "ea_kPa",
            "the example of a wet-bulb reading, which is not recorded",
        ),
        ("dli_mol_m2_d", "light is summed with each day's readings"),
        ("dd_average_noupper", sine),
        ("dd_average_capped", sine),
        ("dd_single_triangle_lower_only", sine),
        ("dd_single_triangle_horizontal", sine),
    ];
    let checked = run(&all, &skipped, |row| degree_days(row) || vapour(row));
    assert_eq!((checked, all.len()), (124, 173));
}

#[test]
fn half_a_year_of_published_degree_days_is_met() {
    let days = table("degree_days_50_70F_2020_h1");
    assert_eq!(days.len(), 182);
    let mut sine = 0.0;
    for day in &days {
        let value = |key: &str| day[key].parse::<f64>().unwrap();
        let (low, high) = (value("tmin_F"), value("tmax_F"));
        let cut = air::DayRange::new(low, high, 50.0, Some(70.0)).unwrap();
        // The calculator prints two decimals of values it has itself rounded.
        let near = |got: f64, key: &str| {
            assert!((got - value(key)).abs() <= 0.006, "{day:?}: {key} {got}");
        };
        near(cut.single_sine(), "dd_single_sine_horizontal");
        sine += cut.single_sine();
        let summed = |got: f64, key: &str| {
            assert!((got - value(key)).abs() <= 0.02, "{day:?}: {key} {got}");
        };
        summed(sine, "acc_single_sine_horizontal");
    }
}

#[test]
fn samples_of_a_sine_day_give_its_degree_days() {
    let reading = |minute: u32| {
        let at = f64::from(minute) / 60.0;
        let angle = std::f64::consts::TAU * (at - 9.0) / 24.0;
        Reading {
            at,
            value: 22.0 + 14.0 * angle.sin(),
        }
    };
    let readings: Vec<Reading> = (0..=1440).map(reading).collect();
    let day = Window {
        from: 0.0,
        to: 24.0,
        longest_gap: 0.5,
    };
    let from_samples = air::above(&readings, day, 10.0, Some(30.0)).sum / 24.0;
    let closed = air::DayRange::new(8.0, 36.0, 10.0, Some(30.0)).unwrap();
    assert!((from_samples - closed.single_sine()).abs() < 1e-4);
    let mean = air::above(&readings, day, 0.0, None).mean().unwrap();
    assert!((mean - 22.0).abs() < 1e-5);
}

#[test]
fn gaps_and_ends_are_left_out_and_counted() {
    let readings = [(1.0, 10.0), (2.0, 20.0), (9.0, 20.0), (11.0, 40.0)]
        .map(|(at, value)| Reading { at, value });
    let window = Window {
        from: 0.0,
        to: 10.0,
        longest_gap: 3.0,
    };
    let spanned = air::above(&readings, window, 0.0, None);
    // 1–2 h at a mean of 15, and 9–10 h of the stretch from 20 at 9 h to 40 at 11 h: a mean of 25.
    assert_eq!((spanned.sum, spanned.hours), (40.0, 2.0));
    assert_eq!((spanned.hours_left_out, spanned.gaps), (8.0, 2));
    assert_eq!((spanned.readings, spanned.mean()), (3, Some(20.0)));
    let nothing = air::above(&readings[..1], window, 0.0, None);
    assert_eq!(
        (nothing.mean(), nothing.gaps, nothing.readings),
        (None, 1, 1)
    );
    let far = Window {
        from: 100.0,
        to: 110.0,
        longest_gap: 3.0,
    };
    assert_eq!(air::above(&readings, far, 0.0, None).hours_left_out, 10.0);
}

#[test]
fn values_out_of_range_are_refused() {
    assert!(air::saturation_kpa(200.0).is_err());
    assert!(air::deficit_kpa(20.0, 101.0).is_err());
    assert!(air::deficit_kpa(20.0, f64::NAN).is_err());
    assert!(air::dew_point(20.0, 0.0).is_err());
    let upside_down = air::DayRange::new(20.0, 10.0, 5.0, None).unwrap_err();
    let told = "highest temperature of 10 is outside 20 to 200";
    assert_eq!(upside_down.to_string(), told);
}
