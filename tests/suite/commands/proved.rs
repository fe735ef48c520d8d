//! What the proof on the real program once found wrong, each as a test of its own.

use super::run::Home;
use std::process::Command;

/// At the limit of file size the system's default is to end the program by a signal.
#[test]
fn the_limit_of_file_size_is_told_in_words_and_keeps_a_draft() {
    let home = Home::new();
    home.struck(&["add", "remark before the limit"]);
    let size = std::fs::read_dir(home.journal())
        .unwrap()
        .map(|item| item.unwrap().metadata().unwrap().len())
        .max()
        .unwrap();
    let said = Command::new("python3")
        .args([
            "-c",
            "import os,resource,sys; n=int(sys.argv[1]); resource.setrlimit(resource.RLIMIT_FSIZE,(n,n)); os.execv(sys.argv[2],sys.argv[2:])",
            &size.to_string(),
            env!("CARGO_BIN_EXE_struck"),
            "add",
            "remark beyond the limit",
        ])
        .env("HOME", home.path())
        .env("STRUCK_JOURNAL", home.journal())
        .output()
        .unwrap();
    let err = String::from_utf8_lossy(&said.stderr);
    assert_eq!(said.status.code(), Some(1), "{err}");
    assert!(err.contains("struck: "), "{err}");
    assert_eq!(home.struck(&["add", "remark after"]).code, 0);
}

/// Two sessions of one user once took each other's half-written state file away.
#[test]
fn several_sessions_of_one_user_save_at_once() {
    let home = Home::new();
    home.struck(&["add", "remark the first"]);
    std::thread::scope(|scope| {
        for writer in 0..6 {
            let home = &home;
            scope.spawn(move || {
                for n in 0..8 {
                    let said = home.struck(&["add", &format!("remark {writer} {n}")]);
                    assert!(
                        said.code == 0 || said.err.contains("is held by"),
                        "{}",
                        said.err
                    );
                }
            });
        }
    });
    assert_eq!(home.struck(&["check"]).code, 0);
}

/// A file that could not be read once left an answer short without a word.
#[test]
fn a_file_that_is_not_read_is_told_beside_every_answer() {
    let home = Home::with_sample("first-days");
    std::fs::create_dir(home.journal().join("a.jsonl")).unwrap();
    for command in ["batches", "timeline", "intervals"] {
        let said = home.struck(&[command]);
        assert_eq!(said.code, 0, "{}", said.err);
        assert!(said.err.contains("a.jsonl is left out: "), "{}", said.err);
    }
    assert_eq!(home.struck(&["check"]).err, "");
}
