//! `climate import`: what it understands of loggers' files, what it shows, what it writes and what it leaves out.

use super::run::{Home, Said};
use insta::assert_snapshot;
use proptest::prelude::*;
use serde_json::Value;
use struck::input::logger::guess::cell_text;
use struck::input::logger::row::read;
use struck::input::logger::{LayoutQuestion, layout};

/// An invented logger's export with a title above, decimal commas, a dead sensor and a missing clock.
const SHED: &str = "\
Plot Title: shed 3
#;Datum/Zeit;Temp. Luft (°C);rel. Feuchte (%);Boden °C;Batterie
1;14.06.2026 00:00;17,2;91;21,0;3,1
2;14.06.2026 00:10;17,1;92;21,1;3,1
3;14.06.2026 00:20;999;92;21,1;3,1
4;;17,0;93;21,1;3,1
5;14.06.2026 00:30;;;;
6;14.06.2026 00:40;17,0;x;21,1;3,1
";

fn import(home: &Home, text: &str, more: &[&str]) -> Said {
    let file = home.path().join("logger.csv");
    std::fs::write(&file, text).unwrap();
    let base = [
        "climate",
        "import",
        file.to_str().unwrap(),
        "--place",
        "mist bench",
    ];
    home.struck(&[&base[..], more].concat())
}

/// The answer in JSON of an import that went well.
fn answer(said: &Said) -> Value {
    assert_eq!(said.code, 0, "{}{}", said.out, said.err);
    serde_json::from_str(&said.out).unwrap()
}

#[test]
fn shows_what_it_understood_and_writes_nothing() {
    for (name, width) in [("80", 80), ("40", 40)] {
        let home = Home::new().wide(width);
        let said = import(&home, SHED, &[]);
        assert_eq!(said.code, 0);
        assert!(!home.journal().exists());
        assert_snapshot!(format!("shed_{name}"), said.out + &said.err);
    }
    assert_snapshot!("shed_json", import(&Home::new(), SHED, &["--json"]).out);
}

#[test]
fn the_same_file_again_adds_nothing() {
    let home = Home::new();
    let first = answer(&import(&home, SHED, &["--write", "--json"]));
    assert_eq!((&first["written"], &first["bad"]), (&2.into(), &3.into()));
    let lines = home.lines();
    assert_eq!(lines.len(), 2);
    let again = answer(&import(&home, SHED, &["--write", "--json"]));
    assert_eq!((&again["written"], &again["held"]), (&0.into(), &2.into()));
    // A longer export of the same logger adds what is new to it.
    let longer = format!("{SHED}7;14.06.2026 00:50;16,9;93;21,0;3,1\n");
    assert_eq!(
        answer(&import(&home, &longer, &["--write", "--json"]))["written"],
        1
    );
    assert_eq!(home.lines()[..2], lines);
    assert_eq!(home.struck(&["check", "--strict"]).code, 0);
}

/// A reading that was withdrawn stays so, though its file comes again.
#[test]
fn what_was_withdrawn_does_not_come_back() {
    let home = Home::new();
    import(&home, SHED, &["--write"]);
    let line: Value = serde_json::from_str(&home.lines()[0]).unwrap();
    let withdraw = format!("withdraw {}", line["id"].as_str().unwrap());
    assert_eq!(home.struck(&["add", &withdraw]).code, 0);
    assert_eq!(
        answer(&import(&home, SHED, &["--write", "--json"]))["written"],
        0
    );
}

/// 75 °F is 23.89 °C and 294.15 K is 21 °C (NIST SP 811, appendix B.8); a share of 0.82 is 82 %.
#[test]
fn units_are_converted() {
    let home = Home::new();
    let text =
        "timestamp,Air Temp (°F),Soil Temp (K),RH\n2026-06-14T16:30:00+02:00,75,294.15,0.82\n";
    import(&home, text, &["--column", "rh=RH:share", "--write"]);
    let line: Value = serde_json::from_str(&home.lines()[0]).unwrap();
    assert_eq!(line["at"], "2026-06-14T16:30:00+02:00");
    assert_eq!(line["air_c"], 23.89);
    assert_eq!(line["medium_c"], 21.0);
    assert_eq!(line["rh_pct"], 82.0);
}

#[test]
fn what_is_in_doubt_must_be_said_before_anything_is_written() {
    let text =
        "Date,Time,Temp 1,Temp 2,RH %\n6/3/2026,4:30 PM,76.1,70,82\n6/4/2026,4:30 PM,77.2,71,81\n";
    let home = Home::new();
    let said = import(&home, text, &["--write"]);
    assert_eq!(said.code, 1);
    assert_snapshot!("doubts", said.out + &said.err);
    let all = [
        "--column",
        "air=3:F",
        "--column",
        "medium=Temp 2:F",
        "--dates",
        "mdy",
        "--write",
    ];
    assert_eq!(import(&home, text, &all).code, 0);
    let line: Value = serde_json::from_str(&home.lines()[0]).unwrap();
    assert_eq!(line["at"], "2026-06-03T16:30:00+01:00");
    assert_eq!(
        (&line["air_c"], &line["medium_c"]),
        (&24.5.into(), &21.11.into())
    );
    // Hot for °C and no unit said: most likely °F.
    let hot = import(
        &Home::new(),
        "time,temperature\n2026-06-03 10:00,72\n",
        &["--write"],
    );
    assert!(
        hot.code == 1 && hot.err.contains("--column air=2:F"),
        "{}",
        hot.err
    );
}

/// The nursery's own unit stands in for one that is not said.
#[test]
fn the_nurserys_unit_stands_in() {
    let home = Home::new();
    assert_eq!(home.struck(&["add", "nursery: units F"]).code, 0);
    let said = import(
        &home,
        "time,temperature\n2026-06-03 10:00,72\n",
        &["--write"],
    );
    assert_eq!(said.code, 0, "{}{}", said.out, said.err);
    assert!(
        home.lines()[1].contains("\"air_c\":22.22"),
        "{:?}",
        home.lines()
    );
}

#[test]
fn dates_late_in_the_file_settle_the_order() {
    let rows: String = (0..4000)
        .map(|n| {
            format!(
                "{:02}/06/2026 {:02}:{:02},20\n",
                1 + n / 400,
                n / 60 % 24,
                n % 60
            )
        })
        .collect();
    let text = format!("date time,air C\n{rows}06/14/2026 10:00,20\n");
    let value = answer(&import(&Home::new(), &text, &["--json"]));
    assert_eq!(value["day_first"], false);
    assert_eq!(value["doubts"].as_array().unwrap().len(), 0);
}

#[test]
fn a_sensor_is_followed_line_by_line() {
    let home = Home::new();
    let arguments = [
        "climate",
        "import",
        "-",
        "--place",
        "frame",
        "--heading",
        "air C,rh %",
        "--write",
    ];
    let said = home.struck_fed(&arguments, b"21.5,80\nbroken\n22.5,81\n");
    assert_eq!(said.code, 0, "{}", said.err);
    assert_eq!(said.out, "2 readings written, 1 left out.\n");
    assert!(
        said.err
            .contains("line 2: air is 'broken', which is no number")
    );
    // A line without a time is of now.
    assert!(home.lines()[0].contains("\"at\":\"2026-06-30T09:00:00+01:00\""));
    // Dates that could be read two ways end it at once.
    let two_ways = home.struck_fed(
        &["climate", "import", "-", "--place", "frame", "--write"],
        b"time,air C\n6/3/2026 10:00,20\n",
    );
    assert!(
        two_ways.code == 1 && two_ways.err.contains("--dates"),
        "{}",
        two_ways.err
    );
}

/// Two columns of times are no line without a time: which one counts must be said, or it is lost.
#[test]
fn a_sensor_with_two_columns_of_times_is_not_taken_for_now() {
    let home = Home::new();
    let said = home.struck_fed(
        &["climate", "import", "-", "--place", "frame", "--write"],
        b"UTC timestamp,local timestamp,air C\n2026-06-01 08:00,2026-06-01 09:00,20\n",
    );
    assert_eq!(said.code, 1, "{}{}", said.out, said.err);
    assert!(
        said.err.contains("Several columns could be"),
        "{}",
        said.err
    );
    assert!(!home.journal().exists() || home.lines().is_empty());
}

/// Standard input that is too long to be tried is told so, not cut.
#[test]
fn too_long_an_input_is_told() {
    let mut text = b"time,air C\n".to_vec();
    text.resize((64 << 20) + 1, b'\n');
    let said = Home::new().struck_fed(&["climate", "import", "-", "--place", "frame"], &text);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.contains("longer than 64 MiB"), "{}", said.err);
}

/// Where a clock set back makes an hour come twice, both hours are kept apart.
#[test]
fn an_hour_that_comes_twice_is_two_hours() {
    let home = Home::new();
    let text = "time,air C\n2025-10-26 01:50,12\n2025-10-26 01:00,11\n2025-10-26 01:50,10\n";
    let file = home.path().join("clock.csv");
    std::fs::write(&file, text).unwrap();
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_struck"))
        .args([
            "climate",
            "import",
            file.to_str().unwrap(),
            "--place",
            "frame",
            "--write",
        ])
        .env_clear()
        .env("HOME", home.path())
        .env("TZ", "Europe/London")
        .env("STRUCK_JOURNAL", home.journal())
        .output()
        .unwrap();
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    let at: Vec<String> = home
        .lines()
        .iter()
        .map(|line| {
            serde_json::from_str::<Value>(line).unwrap()["at"]
                .as_str()
                .unwrap()
                .to_owned()
        })
        .collect();
    assert_eq!(
        at,
        [
            "2025-10-26T01:50:00+01:00",
            "2025-10-26T01:00:00+00:00",
            "2025-10-26T01:50:00+00:00"
        ]
    );
}

#[test]
fn what_is_no_table_is_refused() {
    for (text, told) in [
        ("", "There is no row in it."),
        ("a,b\n1,2\n", "No column is known by its heading"),
        ("\u{0}\u{1}", "not text"),
        ("\u{1}\u{2}; \u{7}x\n\u{6}y;21\u{5}\n", "not text"),
    ] {
        let said = import(&Home::new(), text, &["--write"]);
        assert!(
            said.code == 1 && said.err.contains(told),
            "{text:?}: {}",
            said.err
        );
    }
    let home = Home::new();
    let said = home.struck(&["climate", "import", "nowhere.csv", "--place", "x"]);
    assert!(
        said.code == 1 && said.err.contains("nowhere.csv"),
        "{}",
        said.err
    );
}

/// A place with a subcommand's name can still be asked for.
#[test]
fn a_place_named_as_a_subcommand() {
    let home = Home::new();
    home.struck(&["add", "climate import: air 20, rh 80"]);
    let shown = home.struck(&["climate", "--", "import"]).done();
    assert!(shown.starts_with("import: "), "{shown}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(if cfg!(debug_assertions) { 400 } else { 4000 }))]

    /// No bytes make the reader fall over, as a heading, a row or a whole table.
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = layout(&bytes, &LayoutQuestion::default());
        try_table(&[b"time,air C,rh %\n".as_slice(), &bytes].concat());
        try_table(&[b"Date;Time;Temp;Medium F\n".as_slice(), &bytes].concat());
    }

    /// Nor does text that comes near to what loggers write.
    #[test]
    fn near_misses_are_read_or_refused(
        cells in proptest::collection::vec("[0-9./:TZ+ ,;\"%°-]{0,24}|2026-0[0-9]-[0-3][0-9] [0-2][0-9]:[0-9]{2}", 0..40),
    ) {
        for between in [",", ";", "\t"] {
            let rows: Vec<String> = cells.chunks(3).map(|row| row.join(between)).collect();
            try_table(format!("time{between}air C{between}rh\n{}", rows.join("\n")).as_bytes());
        }
    }

    /// A table written in any of these ways says the same.
    #[test]
    fn every_hand_says_the_same(
        air in -400i32..600, rh in 0u32..=100, minute in 0u32..60, hand in 0usize..4,
    ) {
        let value = f64::from(air) / 10.0;
        let comma = format!("{value:.1}").replace('.', ",");
        let text = match hand {
            0 => format!("time,air C,rh %\n2026-06-14T16:{minute:02}:00Z,{value:.1},{rh}\n"),
            1 => format!("time;air C;rh %\n14.06.2026 16:{minute:02};{comma};{rh}\n"),
            2 => format!("date\ttime\tair C\trh %\n2026/06/14\t4:{minute:02} pm\t{value:.1}\t{rh}\n"),
            _ => format!("time,air C,rh %\n14-Jun-2026 16:{minute:02},\"{comma}\",{rh}\n"),
        };
        let layout = layout(text.as_bytes(), &LayoutQuestion::default()).unwrap();
        let row = text.lines().nth(1).unwrap();
        let mut table = csv::ReaderBuilder::new()
            .delimiter(layout.between)
            .has_headers(false)
            .from_reader(row.as_bytes());
        let record = table.records().next().unwrap().unwrap();
        let row = read(&layout, "x", |at| record.get(at).unwrap_or_default()).unwrap();
        prop_assert_eq!(row.climate.air_c.unwrap().0, value);
        prop_assert_eq!(row.climate.rh_pct.unwrap().0, f64::from(rh));
        let said = format!("{:?}", row.stamp.unwrap());
        let clock = format!("16:{minute:02}:00");
        prop_assert!(said.contains("2026-06-14T") && said.contains(&clock), "{}", said);
    }
}

fn try_table(bytes: &[u8]) {
    let Ok(layout) = layout(bytes, &LayoutQuestion::default()) else {
        return;
    };
    let mut table = csv::ReaderBuilder::new()
        .delimiter(layout.between)
        .has_headers(false)
        .flexible(true)
        .from_reader(bytes);
    for record in table.byte_records().filter_map(Result::ok) {
        let cells: Vec<_> = record.iter().map(cell_text).collect();
        if let Err(why) = read(&layout, "x", |at| cells.get(at).map_or("", |c| c.as_ref())) {
            assert!(!why.to_string().is_empty());
        }
    }
}

/// More shapes of loggers' files, each of our own making: what is read as what, and what became of every row.
#[test]
fn what_becomes_of_every_row_of_more_shapes() {
    let utf16 = |text: &str| {
        let mut bytes = vec![0xff, 0xfe];
        bytes.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
        bytes
    };
    let plain = |text: &str| text.as_bytes().to_vec();
    let shapes = [
        (
            "units with serial numbers, lines of two ends, the third broken",
            plain(
                "\"#\",\"Date Time, GMT+01:00\",\"Temp, °F (LGR S/N: 10482, SEN S/N: 9001)\",\"RH, % (LGR S/N: 10482)\"\r\n1,06/14/2026 00:00,68.0,80\r\n2,06/14/2026 00:10,x,81\r\n3,06/14/2026 00:20,69.8,82\r\n",
            ),
        ),
        (
            "short names of a datalogger's program, with its rows of units",
            plain(
                "\"TOA\",\"shed\"\n\"TIMESTAMP\",\"RECORD\",\"AirTC_Avg\",\"AirTC_Max\",\"RH_Avg\",\"SoilTC_Avg\"\n\"TS\",\"RN\",\"Deg C\",\"Deg C\",\"%\",\"Deg C\"\n\"2026-06-14 00:00:00\",1,20.1,22,80,21\n",
            ),
        ),
        (
            "German day and time apart",
            plain(
                "Datum;Uhrzeit;Temperatur [°C];rF [%]\n14.06.2026;00:00;17,2;91\n14.06.2026;00:10;17,1;92\n",
            ),
        ),
        (
            "serial days of a spreadsheet",
            plain("time,air °C\n46187.5,20.5\n46187.75,21.5\n"),
        ),
        (
            "UTF-16 with tabs",
            utf16(
                "Zeitpunkt\tTemp. Luft (°C)\r\n14.06.2026 00:00\t17,2\r\n14.06.2026 00:10\t17,4\r\n",
            ),
        ),
        (
            "two places in one file",
            plain("time,mist bench air °C,frame air °C\n2026-06-14 00:00,20,22\n"),
        ),
        (
            "a day's least and most",
            plain("date,min temp °C,max temp °C\n2026-06-14,12,27\n"),
        ),
        (
            "a day's least and most in short",
            plain("date,tmin,tmax\n2026-06-14,12,27\n"),
        ),
        (
            "a row a sensor",
            plain(
                "time,sensor,value\n2026-06-14 00:00,air temp,20\n2026-06-14 00:00,humidity,80\n",
            ),
        ),
        (
            "a row a reading with its unit, one cell broken, lines of two ends, decimal commas",
            plain(
                "Zeitpunkt;Messgröße;Einheit;Wert\r\n14.06.2026 00:00;Temp. Luft;°C;17,2\r\n14.06.2026 00:00;rF;%;91\r\n14.06.2026 00:10;Temp. Luft;°C;17,4\r\n14.06.2026 00:10;rF;%;?\r\n14.06.2026 00:20;Temp. Luft;°C;17,5\r\n",
            ),
        ),
        (
            "two places that take turns under one heading",
            plain(
                "time,place,air °C,rh %\n2026-06-14 00:00,mist bench,20,80\n2026-06-14 00:00,frame,22,70\n",
            ),
        ),
        (
            "a row a reading of another place",
            plain(
                "time,location,quantity,value\n2026-06-14 00:00,frame,air °C,20\n2026-06-14 00:00,frame,rh %,70\n",
            ),
        ),
        (
            "days with a mean",
            plain("date,mean temp °C,max temp °C\n2026-06-14,19,27\n2026-06-15,20,28\n"),
        ),
        (
            "a row a reading without a word of what was read",
            plain("time,sensor,value\n2026-06-14 00:00,T1,20\n2026-06-14 00:00,T2,80\n"),
        ),
    ];
    let mut out = String::new();
    for (name, bytes) in shapes {
        let home = Home::new().wide(100);
        let file = home.path().join("logger.csv");
        std::fs::write(&file, bytes).unwrap();
        let said = home.struck(&[
            "climate",
            "import",
            file.to_str().unwrap(),
            "--place",
            "mist bench",
        ]);
        out.push_str(&format!("=== {name}\n{}{}\n", said.out, said.err));
    }
    assert_snapshot!("more_shapes", out);
}

/// A table with a row a reading says the same as one with a row a moment, to the id of each reading.
#[test]
fn a_row_a_reading_is_read_as_a_row_a_moment() {
    let home = Home::new();
    let wide = "time,air °C,rh %\n2026-06-14 00:00,20,80\n2026-06-14 00:10,21,\n";
    assert_eq!(
        answer(&import(&home, wide, &["--write", "--json"]))["written"],
        2
    );
    let long = "time,quantity,value,unit\n2026-06-14 00:00,air,20,°C\n2026-06-14 00:10,air,21,°C\n2026-06-14 00:00,rh,80,%\n2026-06-14 00:20,rh,81,%\n";
    let said = answer(&import(&home, long, &["--write", "--json"]));
    assert_eq!(
        [
            &said["long_rows"],
            &said["rows"],
            &said["held"],
            &said["written"]
        ],
        [4, 3, 2, 1]
    );
    assert_eq!(home.lines().len(), 3);
}

/// A heading that names another place is asked about; what somebody said of the column, or a place of that name, settles it.
#[test]
fn a_heading_of_another_place_is_never_taken_silently() {
    let home = Home::new();
    assert_eq!(home.struck(&["add", "climate frame: air 20"]).code, 0);
    let text = "time,frame air °C\n2026-06-14 00:00,20\n";
    let file = home.path().join("logger.csv");
    std::fs::write(&file, text).unwrap();
    let file = file.to_str().unwrap();
    let ask = |place: &str, more: &[&str]| {
        let asked = ["climate", "import", file, "--place", place, "--write"];
        home.struck(&[&asked, more].concat())
    };
    let said = ask("mist bench", &[]);
    assert_eq!(said.code, 1, "{}", said.err);
    for word in [
        "'frame air °C' names frame",
        "taken for mist bench",
        "--column \"air=frame air °C\"",
    ] {
        assert!(said.err.contains(word), "{word}: {}", said.err);
    }
    assert_eq!(home.lines().len(), 1);
    assert_eq!(ask("frame", &[]).code, 0);
    assert_eq!(home.lines().len(), 2);
    assert_eq!(ask("mist bench", &["--column", "air=frame air °C"]).code, 0);
    assert_eq!(home.lines().len(), 3);
    // A longer name of the place asked for holds the shorter one of another.
    std::fs::write(file, "time,frame two air °C\n2026-06-14 00:00,20\n").unwrap();
    assert_eq!(ask("frame two", &[]).code, 0);
}

/// Rows that name their sensor are not taken for one sensor's, line by line.
#[test]
fn sensors_that_take_turns_are_not_followed_as_one() {
    let home = Home::new();
    let said = home.struck_fed(
        &["climate", "import", "-", "--place", "frame", "--write"],
        b"time,sensor,air C\n2026-06-14T00:00:00Z,A,20\n2026-06-14T00:00:00Z,B,22\n",
    );
    assert_eq!(said.code, 1);
    assert!(said.err.contains("several may take turns"), "{}", said.err);
}
