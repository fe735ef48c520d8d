"""Coverage-guided fuzzing of every law in tests/fuzz, for a short time or many executions. Needs cargo-fuzz.

What was found worth keeping stays in target/fuzz/corpus, so that a later run goes on from it. At full size the executions
of one build are counted on in target/fuzz/executed: a run that was stopped is taken up where it was.
"""
import concurrent.futures, hashlib, json, os, pathlib, re, subprocess, time
from common import ENDS, ROOT, Tally

FUZZ, INTO = ROOT / 'tests/fuzz', ROOT / 'target/fuzz'
# A short run is led by what the program compares, its libraries too, and holds assertions of theirs; a long one, whose
# corpus has all that already, runs several times as often with counters in this program alone. Both find overflows.
# Without a sanitizer: the crate forbids unsafe code, and runs ten times as often so.
SHORT, LONG = ['-a'], ['--no-trace-compares']
BARE = pathlib.Path(__file__).with_name('bare-libraries')
# At full size as many executions, or as long a time, whichever is reached first: a typed line or a whole journal costs
# as much as tens of a journal's lines. In stretches, each of which is counted when it ends.
SECONDS, RUNS, HOURS, STRETCH = 8, 100_000_000, 2, 300
# The fuzzer begins with short inputs and lets them grow up to this; beyond, one input costs more than it finds.
LONGEST, LONGEST_OF = 200, {'fold': 400, 'bench_line': 100}


def built_in(full):
    return INTO / 'lean' if full else INTO


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


class Executed:
    """How often a target was executed, in all runs of the same build."""

    def __init__(self, target, program):
        self.place = INTO / 'executed' / f'{target}.json'
        self.build = hashlib.sha256(program.read_bytes()).hexdigest()
        held = json.loads(self.place.read_text()) if self.place.exists() else {}
        self.count = held['count'] if held.get('build') == self.build else 0

    def add(self, count):
        self.count += count
        self.place.parent.mkdir(parents=True, exist_ok=True)
        self.place.write_text(json.dumps({'build': self.build, 'count': self.count}))


def stretch(target, program, tally, limits):
    """Fuzzes until a limit is reached; gives how often the law was executed and whether it held."""
    left = INTO / 'artifacts' / target
    left.mkdir(parents=True, exist_ok=True)
    done = subprocess.run([*ALONE, str(program), *limits, '-print_final_stats=1', '-timeout=20', '-rss_limit_mb=1024', f'-max_len={LONGEST_OF.get(target, LONGEST)}',
                           f'-artifact_prefix={left}/', str(corpus(target))], capture_output=True, text=True, errors='replace')
    ran = re.search(r'number_of_executed_units: (\d+)', done.stderr)
    reached = re.findall(r'cov: (\d+)', done.stderr)
    tally.notes['edges covered'] = max(tally.notes['edges covered'], int(reached[-1]) if reached else 0)
    found = re.search(r'Test unit written to (\S+)', done.stderr)
    held = tally.expect(done.returncode == 0, f'{target}: {found[1] if found else "ended"}: {done.stderr[-600:]}')
    return int(ran[1]) if ran else 0, held


def fuzzed(target, full):
    tally = Tally(f'fuzzing: {target}')
    program = next(iter(built_in(full).glob(f'*/release/{target}')), None)
    if program is None:
        return tally.skip('it was not built')
    if not full:
        tally.cases, _ = stretch(target, program, tally, [f'-max_total_time={SECONDS}'])
        return tally
    executed, ends, held = Executed(target, program), min(time.time() + HOURS * 3600, ENDS[0]), True
    while held and executed.count < RUNS and time.time() < ends:
        # Inputs are taken at random, and kept for a way that they went, not for how often: to weigh that costs half an execution.
        limits = [f'-runs={RUNS - executed.count}', f'-max_total_time={max(1, min(STRETCH, int(ends - time.time())))}', '-entropic=0', '-use_counters=0', '-reduce_inputs=0']
        count, held = stretch(target, program, tally, limits)
        executed.add(count)
        print(f'    {target}: {executed.count} of {RUNS} executions', flush=True)
        held = held and count > 0
    tally.cases, tally.unfinished = executed.count, held and executed.count < RUNS
    return tally


def run(full):
    if subprocess.run(['cargo', 'fuzz', '--version'], capture_output=True).returncode:
        return [Tally('fuzzing').skip('cargo-fuzz is not installed: cargo install cargo-fuzz')]
    more = {'RUSTC_WRAPPER': str(BARE)} if full else {}
    built = subprocess.run(['cargo', 'fuzz', 'build', '-O', *(LONG if full else SHORT), '-s', 'none', '--fuzz-dir', '.'], cwd=FUZZ, capture_output=True, text=True,
                           env=dict(os.environ, RUSTC_BOOTSTRAP='1', CARGO_TARGET_DIR=str(built_in(full)), **more))
    if built.returncode:
        tally = Tally('fuzzing')
        tally.fault(built.stderr[-600:])
        return [tally]
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        return list(pool.map(lambda target: fuzzed(target, full), targets()))


def units(full):
    yield 'all targets', lambda: run(full)
