//! The program: hands over to `cli` and returns its exit code. It must hold nothing else.

fn main() -> std::process::ExitCode {
    struck::cli::main()
}
