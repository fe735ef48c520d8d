//! The sample nursery as a journal to write in, for the benchmarks that start from one.

use std::path::Path;

/// Copies the sample nursery's journals into a new folder.
pub fn copy_nursery(folder: &Path) {
    std::fs::create_dir(folder).unwrap();
    let stored = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-journals/nursery");
    for item in std::fs::read_dir(stored).unwrap() {
        let path = item.unwrap().path();
        std::fs::copy(&path, folder.join(path.file_name().unwrap())).unwrap();
    }
}
