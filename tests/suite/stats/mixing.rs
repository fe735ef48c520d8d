//! Strengths, dilutions, units, mist: every row of the published trade arithmetic.

use struck::stats::air::{Mist, depth_mm};
use struck::stats::mixing;
use struck::stats::mixing::{IAA, IBA, ImpossibleMix, K_IBA, K_NAA, NAA, Substance};
use struck::stats::units;

use super::published::{Row, rows, run};

fn substance(text: &str) -> Substance {
    let wanted = text.split_whitespace().next().unwrap();
    let plain = |s: &str| s.replace('-', "");
    let found = [IBA, K_IBA, IAA, NAA, K_NAA].into_iter();
    found
        .into_iter()
        .find(|s| plain(s.name) == plain(wanted))
        .unwrap()
}

fn strengths(row: &Row) -> bool {
    let text = row.dataset.as_str();
    let numbers = Row::numbers(text);
    row.check(match row.quantity.as_str() {
        "g_per_mol" => {
            let one = substance(&row.arg);
            assert_eq!(row.arg.split_whitespace().nth(1), Some(one.formula));
            one.molar_mass
        }
        "mM" => substance(text).millimolar(numbers[0]),
        "percent_w_v" => mixing::ppm_to_percent(numbers[0]),
        "mg_per_L" => substance(text).mg_per_litre(numbers[0]),
        "mg_per_L_KIBA" => {
            let acid = Row::named(text, "for ").unwrap();
            mixing::K_IBA.equivalent_of(&mixing::IBA, acid)
        }
        "ppm" if text.contains("IBA") => numbers[0] * mixing::PPM_PER_PERCENT,
        "ppm" => mixing::by_parts(numbers[0], numbers[1], numbers[2]).unwrap(),
        "percent_NaOCl" => mixing::by_parts(numbers[0], numbers[1], numbers[2]).unwrap(),
        "mL_stock" => {
            mixing::dilute(numbers[0], numbers[2], numbers[1])
                .unwrap()
                .stock
        }
        "mL_diluent" => {
            mixing::dilute(numbers[0], numbers[2], numbers[1])
                .unwrap()
                .diluent
        }
        "g" => mixing::grams_for(numbers[0], numbers[1]).unwrap(),
        _ => return false,
    });
    true
}

fn conversions(row: &Row) -> bool {
    let value = || row.dataset.parse::<f64>().unwrap();
    row.check(match row.quantity.as_str() {
        "F_to_C" => units::fahrenheit_to_celsius(value()),
        "USgal_to_L" => value() * units::LITRES_PER_US_GALLON,
        "in_to_mm" => value() * units::MM_PER_INCH,
        "fc_to_lux" => value() * units::LUX_PER_FOOT_CANDLE,
        "USfloz_to_mL" => value() * units::ML_PER_US_FLUID_OUNCE,
        "ft2_to_m2" => value() * units::M2_PER_SQUARE_FOOT,
        "fc_per_umol" => units::SUN_FOOT_CANDLES_PER_UMOL,
        _ => return false,
    });
    true
}

fn water(row: &Row) -> bool {
    let numbers = Row::numbers(&row.dataset);
    if row.quantity == "L_per_m2_per_day" {
        row.check(depth_mm(numbers[0], 1.0).unwrap() / *numbers.last().unwrap());
        return true;
    }
    if !row.dataset.starts_with("nozzle") {
        return false;
    }
    let [flow, on, minutes, hours, across] = numbers[..] else {
        panic!("{row:?}");
    };
    // The first nozzle gives ten US gallons an hour, printed with six digits.
    let gallons = 10.0 * units::LITRES_PER_US_GALLON;
    let flow = if (flow - gallons).abs() < 1e-4 {
        gallons
    } else {
        flow
    };
    let duty = Mist::new(on, 60.0 * minutes, hours).unwrap().duty();
    let litres = flow * hours * duty;
    let area = std::f64::consts::PI * (0.5 * across).powi(2);
    row.check(match row.quantity.as_str() {
        "litres_per_day" => litres,
        "mm_per_day" => depth_mm(litres, area).unwrap(),
        _ => return false,
    });
    true
}

#[test]
fn every_published_row_of_trade_arithmetic_is_met() {
    let all = rows("expected_trade_arithmetic");
    let skipped = [
        ("dF_to_dC", "no difference is typed in degrees Fahrenheit"),
        ("psi_to_kPa", "no pressure of water is recorded"),
        ("events", "the bursts of a mist are not counted"),
        ("area_m2", "a nozzle's throw is entered as an area"),
    ];
    let checked = run(&all, &skipped, |row| {
        strengths(row) || conversions(row) || water(row)
    });
    assert_eq!((checked, all.len()), (51 - 6, 51));
}

#[test]
fn impossible_mixes_are_refused() {
    let stronger = mixing::dilute(1000.0, 3000.0, 500.0).unwrap_err();
    let told = "3000 is stronger than the stock's 1000: water cannot strengthen it";
    assert_eq!(stronger.to_string(), told);
    for (stock, wanted, volume) in [
        (0.0, 1.0, 1.0),
        (1.0, 0.0, 1.0),
        (1.0, 1.0, 0.0),
        (-5.0, -6.0, 1.0),
        (f64::NAN, 1.0, 1.0),
        (f64::INFINITY, 1.0, 1.0),
    ] {
        let refused = mixing::dilute(stock, wanted, volume);
        assert!(matches!(refused, Err(ImpossibleMix::BadFigure { .. })));
    }
    let whole = mixing::grams_for(100.0, 101.0 * mixing::PPM_PER_PERCENT);
    assert_eq!(whole, Err(ImpossibleMix::MoreThanWhole { percent: 101.0 }));
    assert!(mixing::by_parts(1000.0, 1.0, -1.0).is_err());
    assert!(mixing::volume_for(0, 1.0, 0.1).is_err());
    assert!(mixing::volume_for(10, 1.0, -0.1).is_err());
    let neat = mixing::dilute(1000.0, 1000.0, 50.0).unwrap();
    assert_eq!((neat.stock, neat.diluent), (50.0, 0.0));
    assert!((mixing::volume_for(200, 0.5, 0.1).unwrap() - 110.0).abs() < 1e-9);
}

#[test]
fn a_mist_out_of_range_is_refused() {
    assert!(Mist::new(20.0, 10.0, 12.0).is_err());
    assert!(Mist::new(5.0, 600.0, 25.0).is_err());
    assert!(depth_mm(-1.0, 1.0).is_err());
    assert!(depth_mm(1.0, 0.0).is_err());
    assert!((Mist::new(10.0, 600.0, 12.0).unwrap().duty() - 1.0 / 60.0).abs() < 1e-15);
}
