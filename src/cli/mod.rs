//! The command line: arguments, one file a command, exit codes. The only printer.

pub mod environment;
pub mod exit;
pub mod output;
pub mod progress;

/// Runs the program and gives its exit code.
#[must_use]
pub fn main() -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}
