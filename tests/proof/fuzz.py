"""Coverage-guided fuzzing of every law in tests/fuzz, for a short time or many executions. Needs cargo-fuzz."""
import os, re, subprocess
from common import ROOT, Tally

FUZZ, INTO = ROOT / 'tests/fuzz', ROOT / 'target/fuzz'
# At full size as many executions, or as long a time, whichever is reached first: a typed line or a whole journal costs
# as much as hundreds of a journal's lines.
SECONDS, RUNS, HOURS = 8, 100_000_000, 2
LONGEST = {'fold': 2000, 'logger': 2000}


def targets():
    return re.findall(r'\[\[bin\]\]\nname = "(\w+)"', (FUZZ / 'Cargo.toml').read_text())


def corpus(target):
    """A folder with the target's seeds, each in a file of its own."""
    folder = INTO / 'corpus' / target
    folder.mkdir(parents=True, exist_ok=True)
    listed = FUZZ / 'seeds' / f'{target}.txt'
    seeds = listed.read_bytes().split(b'\n') if listed.exists() else []
    if target == 'logger':
        seeds = [s.replace(b'\\n', b'\n') for s in seeds]
    kept = [FUZZ / 'found' / target] + ([ROOT / 'sample-journals/damaged'] if target == 'fold' else [])
    seeds += [p.read_bytes() for k in kept if k.is_dir() for p in sorted(k.iterdir())]
    for number, seed in enumerate(seeds):
        (folder / f'seed-{number}').write_bytes(seed)
    return folder


# A process begins with the greatest memory that its parent ever held, and the hostile lines were held here: of its own a shell's child has none.
ALONE = ['sh', '-c', '"$@"; exit $?', 'sh']


def fuzzed(target, full):
    tally = Tally(f'fuzzing: {target}')
    left = INTO / 'artifacts' / target
    left.mkdir(parents=True, exist_ok=True)
    program = next(iter(INTO.glob(f'*/release/{target}')), None)
    if program is None:
        return tally.skip('it was not built')
    much = [f'-runs={RUNS}', f'-max_total_time={HOURS * 3600}'] if full else [f'-max_total_time={SECONDS}']
    done = subprocess.run([*ALONE, str(program), *much, '-print_final_stats=1', '-timeout=20', '-rss_limit_mb=1024', f'-max_len={LONGEST.get(target, 400)}',
                           f'-artifact_prefix={left}/', str(corpus(target))], capture_output=True, text=True, errors='replace')
    ran = re.search(r'number_of_executed_units: (\d+)', done.stderr)
    tally.cases = int(ran[1]) if ran else 0
    reached = re.findall(r'cov: (\d+)', done.stderr)
    tally.notes['edges covered'] = int(reached[-1]) if reached else 0
    found = re.search(r'Test unit written to (\S+)', done.stderr)
    tally.expect(done.returncode == 0, f'{target}: {found[1] if found else "ended"}: {done.stderr[-600:]}')
    return tally


def run(full):
    if subprocess.run(['cargo', 'fuzz', '--version'], capture_output=True).returncode:
        yield Tally('fuzzing').skip('cargo-fuzz is not installed: cargo install cargo-fuzz')
        return
    # Without a sanitizer: the crate forbids unsafe code, and runs ten times as often so.
    built = subprocess.run(['cargo', 'fuzz', 'build', '-O', '-a', '-s', 'none', '--fuzz-dir', '.'], cwd=FUZZ, capture_output=True, text=True,
                           env=dict(os.environ, RUSTC_BOOTSTRAP='1', CARGO_TARGET_DIR=str(INTO)))
    if built.returncode:
        tally = Tally('fuzzing')
        tally.fault(built.stderr[-600:])
        yield tally
        return
    for target in targets():
        yield fuzzed(target, full)
