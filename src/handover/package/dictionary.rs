//! The pages of a data package for people: the dictionary of its fields, and how to read it elsewhere.

use super::field::WrittenTable;
use super::options::PackageOptions;
use crate::text::figures::many;
use std::fmt::Write as _;

/// `dictionary.md`: each field of each table with its meaning, unit and nearest term of an open standard.
pub fn write(tables: &[WrittenTable]) -> String {
    let mut out = String::from(
        "# Dictionary\n\n\
         Terms name the nearest of MIAPPE 1.1 (miappe.org), BrAPI 2.1 (brapi.org) and Darwin Core (dwc.tdwg.org), where one comes near.\n\
         An empty cell is not recorded or cannot be told; it is never 0 or none.\n",
    );
    for table in tables {
        let about = &table.about;
        // Writing into a String cannot fail.
        let _ = write!(
            out,
            "\n## {}\n\n{} Key: {}.\n\n| field | type | unit | meaning | term |\n|---|---|---|---|---|\n",
            table.file_name(),
            about.row,
            about.key.join(", ")
        );
        for field in &table.fields {
            let _ = writeln!(
                out,
                "| {} | {} | {} | {} | {} |",
                field.name,
                field.sort.word(),
                field.unit,
                field.description,
                field.term
            );
        }
        for (field, other, their) in about.links {
            let _ = writeln!(out, "\n`{field}` is `{their}` of `{other}.csv`.");
        }
    }
    out
}

/// `README.md`: what the folder is, and how it is read in R, pandas, DuckDB and a spreadsheet.
pub fn readme(tables: &[WrittenTable], options: &PackageOptions) -> String {
    let mut out = format!(
        "# Plants raised from cuttings: a data package\n\n\
         A bench journal as plain tables, as of {}. It is a Data Package, version 2 (datapackage.org): `datapackage.json` gives types, units,\n\
         keys and checksums, `dictionary.md` what each field means.\n\n",
        options.today
    );
    for table in tables {
        let _ = writeln!(
            out,
            "- `{}` ({}): {}",
            table.file_name(),
            many(table.rows as u64, "row", "rows"),
            table.about.row
        );
    }
    out.push_str(LICENCE);
    if options.spreadsheet_safe {
        out.push_str(MARKED);
    }
    out.push_str(READING);
    out
}

const LICENCE: &str = "\n## Licence\n\nNone is given yet: whoever owns the journal decides. To hand the data on, add to `datapackage.json` for example\n\
`\"licenses\": [{\"name\": \"CC-BY-4.0\", \"path\": \"https://creativecommons.org/licenses/by/4.0/\"}]`.\n\
Names of people stand in the fields `by` and may stand in notes.\n";

const MARKED: &str = "\n## Marked for spreadsheets\n\nText that a spreadsheet would run as a formula bears a `'` before it. Export without `--spreadsheet-safe` to have the text as written.\n";

const READING: &str = r#"
## Reading it

In R:

```r
batches <- read.csv("batches.csv", na.strings = "", encoding = "UTF-8")
batches$stuck_on <- as.Date(batches$stuck_on)
intervals <- read.csv("intervals.csv", na.strings = "")
aggregate(rooted_share ~ wood, data = batches, FUN = mean)
```

In pandas:

```python
import pandas as pd
batches = pd.read_csv("batches.csv", parse_dates=["stuck_on"], keep_default_na=False, na_values=[""])
batches.groupby("wood")["rooted_share"].mean()
```

In DuckDB:

```sql
SELECT wood, avg(rooted_share) FROM read_csv('batches.csv', header = true, nullstr = '') GROUP BY wood ORDER BY wood;
```

In a spreadsheet: open a table as comma-separated UTF-8. A spreadsheet may run text that begins with `=`, `+`, `-` or `@`; export with
`--spreadsheet-safe` if others wrote in the journal.

To check the whole package: `frictionless validate datapackage.json`.
"#;
