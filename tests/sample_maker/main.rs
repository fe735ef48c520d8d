//! Makes the sample journals anew in sample-journals/nursery. Run with `cargo bench --bench sample_maker`.
#![allow(clippy::unwrap_used, missing_docs)]

mod files;
#[path = "mod.rs"]
mod sample_maker;

use std::path::Path;

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-journals/nursery");
    for (name, text) in files::files(files::SEED) {
        let path = folder.join(name);
        std::fs::write(&path, text).unwrap();
        println!("{}", path.display());
    }
}
