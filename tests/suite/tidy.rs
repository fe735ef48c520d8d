//! The house rules, held by a test: who may import whom, fenced words, header lines, sizes.

#[test]
fn every_source_file_says_its_job_first() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut folders = vec![root];
    while let Some(folder) = folders.pop() {
        for item in std::fs::read_dir(folder).unwrap() {
            let path = item.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let text = std::fs::read_to_string(&path).unwrap();
                assert!(
                    text.starts_with("//! "),
                    "{} lacks its header line",
                    path.display()
                );
            }
        }
    }
}
