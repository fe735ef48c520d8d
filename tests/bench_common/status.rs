//! What the system says of a process, for the benchmarks that weigh memory. It judges nothing.

/// Kilobytes of a line of a process's status, as `VmHWM`, the most memory that it has held so far; `process` is its number
/// or `self`. Nothing where the system does not tell.
pub fn status_kb(process: &str, name: &str) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let line = status
        .lines()
        .find(|line| line.starts_with(name))
        .unwrap_or_default();
    line.split_whitespace()
        .nth(1)
        .and_then(|word| word.parse().ok())
        .unwrap_or(0)
}
