"""Many files, many conflict copies, many climate lines: what is done costs in proportion to them, and waiting costs nothing.

A measure is taken at one size and at a larger one. On a busy machine single times mean little, so that processor seconds are
taken, the least of several runs, and only their growth is judged: more than in proportion, with room for chance, is wrong.
How much is held at once hangs on how far each core has come, which differs from run to run: it is measured on one core.
"""
import contextlib, json, os, re, resource, shutil, subprocess, time
from common import STRUCK, Home, Tally
from face import Session
from hostile import peak

# In proportion is 1; what grows with the square is as large as the sizes' own ratio.
MOST_OVER = 1.8
RUNS = 3
ULID = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'


def ulid(number):
    tail = ''
    for _ in range(16):
        tail, number = ULID[number % 32] + tail, number // 32
    return '01KT13Q1Y0' + tail


def remark(number, note='the fog nozzle drips'):
    return json.dumps({'v': 1, 'id': ulid(number), 'at': '2026-06-14', 'kind': 'remark', 'note': note}, separators=(',', ':'))


def seconds(home, *arguments, runs=RUNS):
    """The least processor time of a run, in seconds."""
    least = None
    for _ in range(runs):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        run = subprocess.Popen([STRUCK, *arguments], env=home.environment(), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL)
        _, code, used = os.wait4(run.pid, 0)
        run.returncode = os.waitstatus_to_exitcode(code)
        took = used.ru_utime + used.ru_stime
        least = took if least is None else min(least, took)
        if run.returncode not in (0, 3):
            raise RuntimeError(f'{arguments}: exit {run.returncode}')
    return least


@contextlib.contextmanager
def one_core():
    """What is run within has one core, the same each time."""
    allowed = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(allowed)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, allowed)


def cpu(process):
    fields = open(f'/proc/{process}/stat').read().rsplit(')', 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf('SC_CLK_TCK')


def idle(home, wait):
    """The share of a processor that an open bench takes while nothing happens."""
    session = Session(home)
    session.look(['Bench', 'Stick'], 120.0)
    time.sleep(2)
    before, begun = cpu(session.run.pid), time.time()
    while time.time() - begun < wait:
        session.read(0.5)
    share = (cpu(session.run.pid) - before) / (time.time() - begun)
    session.type('q')
    session.hang_up()
    return share


def files(count):
    home = Home()
    home.journal.mkdir()
    for n in range(count):
        (home.journal / f'm{n:05}.jsonl').write_text(remark(n) + '\n')
    return home


def copies(lines, count):
    """A file, and conflict copies of it in each of which every line says something else under the same id."""
    home = Home()
    home.journal.mkdir()
    for copy in range(count):
        ending = f'.sync-conflict-20260614-0930{copy:02}-ABCDEFG' if copy else ''
        (home.journal / f'm{ending}.jsonl').write_text(''.join(remark(n, f'as of copy {copy}') + '\n' for n in range(lines)))
    return home


def one_id(lines):
    """So many lines that all bear one id and say something else each."""
    home = Home()
    home.journal.mkdir()
    (home.journal / 'm.jsonl').write_text(''.join(remark(0, f'the {n}th') + '\n' for n in range(lines)))
    return home


def climate(lines):
    home = Home()
    home.journal.mkdir()
    with open(home.journal / 'm.jsonl', 'w') as file:
        for n in range(lines):
            at = f'2025-{1 + n // 40320 % 12:02}-{1 + n // 1440 % 28:02}T{n // 60 % 24:02}:{n % 60:02}:00+01:00'
            entry = {'v': 1, 'id': ulid(n), 'at': at, 'kind': 'climate', 'by': 'ana' if n % 3 else 'ben', 'place': 'bench A', 'air_c': 20 + n % 50 / 10, 'rh_pct': 80}
            file.write(json.dumps(entry, separators=(',', ':')) + '\n')
    return home


def grows(tally, what, sizes, made, measure, floor):
    """Measures at each size; less the floor, the cost of an empty journal, it may grow in proportion."""
    costs = []
    for size in sizes:
        with made(size) as home:
            costs.append(measure(home))
        tally.cases += 1
    over = (max(costs[-1] - floor, 1e-3) / max(costs[0] - floor, 1e-2)) / (sizes[-1] / sizes[0])
    told = ', '.join(f'{size:,}: {cost:.2f} s' for size, cost in zip(sizes, costs))
    tally.figures.append(f'{what}: {told}')
    tally.expect(over <= MOST_OVER, f'{what}: {told}, {over:.1f} times what is in proportion')


def empty_journal():
    """What a run costs at the least."""
    with files(1) as home:
        return seconds(home, 'check')


def many_files(full):
    tally, sizes = Tally('many files'), (3000, 10000) if full else (1000, 3000)
    grows(tally, '`add` with so many files', sizes, files, lambda home: seconds(home, 'add', 'remark one more'), empty_journal())
    shares = []
    for size in sizes:
        with files(size) as home:
            shares.append(idle(home, 20 if full else 6))
        tally.cases += 1
    told = ', '.join(f'{size:,}: {share:.1%}' for size, share in zip(sizes, shares))
    tally.figures.append(f'an open bench with so many files, waiting, of one processor: {told}')
    tally.expect(shares[-1] < 0.03, f'an open bench that waits takes {told} of a processor')
    return tally


def conflict_copies(full):
    tally, lines = Tally('conflict copies, every line changed'), 10000 if full else 1000
    check = lambda home: seconds(home, 'check')
    floor = empty_journal()
    grows(tally, f'`check` with so many copies of {lines:,} lines', (5, 20), lambda n: copies(lines, n), check, floor)
    grows(tally, '`check` with twenty copies of so many lines', (lines // 4, lines), lambda n: copies(n, 20), check, floor)
    grows(tally, '`check` with so many lines under one id', (2 * lines, 8 * lines), one_id, check, floor)
    return tally


def climate_lines(full):
    """Lines that a person entered are packed as a logger's are."""
    tally, held = Tally('climate lines with `by`'), []
    sizes = (100_000, 1_000_000) if full else (100_000, 300_000)
    for size in sizes:
        with climate(size) as home, one_core():
            of_files = sum(p.stat().st_size for p in home.journal.iterdir())
            held.append((seconds(home, 'check', runs=1), peak(home, 'check')[3] / (1 << 20), of_files / (1 << 20)))
        tally.cases += 1
    told = ', '.join(f'{size:,} lines ({mib:.0f} MiB): {took:.2f} s, {most:.0f} MiB held' for size, (took, most, mib) in zip(sizes, held))
    tally.figures.append(told)
    (_, less, small), (_, more, large) = held[0], held[-1]
    tally.expect(more - less < large - small, f'{told}: more than the lines themselves take')
    return tally


def units(full):
    yield 'files', lambda: many_files(full)
    yield 'copies', lambda: conflict_copies(full)
    yield 'climate', lambda: climate_lines(full)
