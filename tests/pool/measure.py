"""Runs a command and prints how long it took, how much memory it held at most, and rows a second.

    python tests/pool/measure.py SRC COMMAND...
"""

import os
import pathlib
import subprocess
import sys
import time


def main():
    source, *command = sys.argv[1:]
    files = list(pathlib.Path(source).rglob("*.jsonl"))
    size = sum(path.stat().st_size for path in files)
    rows = sum(path.read_bytes().count(b"\n") for path in files) if size < 4 << 30 else size // 420
    begun = time.monotonic()
    with open(os.devnull, "wb") as nowhere:
        child = subprocess.Popen(command, stdout=nowhere)
        _, status, used = os.wait4(child.pid, 0)
    took = time.monotonic() - begun
    if status:
        sys.exit(f"ended with {status}")
    print(
        f"{rows} rows, {size / 1e6:.0f} MB in {len(files)} files: {took:.1f} s, {used.ru_utime + used.ru_stime:.1f} s of processors, "
        f"{used.ru_maxrss / 1024:.0f} MB held, {rows / took:.0f} rows a second"
    )


if __name__ == "__main__":
    main()
