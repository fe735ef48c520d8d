"""Every system call of the append and of the read path made to fail by strace: each errno, each occurrence; and two
calls of one append, the second perhaps one that is made only since the first failed.

After each: what was acknowledged stands once; what was not is a draft or a clear refusal; no byte that stood
before has changed; the journal reads; the next append works. Needs strace.
"""
import concurrent.futures, json, os, re, shutil, subprocess
from common import Home, ROOT, Tally, only_grew, pieces, unharmed

# Errnos that each call can give (Linux man pages, section 2). Left out, since the C or the standard library takes
# them for something else: EBADF on standard output (taken for closed on purpose), ENOENT of getdents64 (a removed
# folder's end). `mmap` is left out: without memory no program begins.
ERRNOS = {
    'openat': 'EACCES EIO EINTR EMFILE ENOSPC EDQUOT EROFS ENOMEM ESTALE', 'flock': 'EINTR ENOLCK EBADF EIO', 'statx': 'EACCES EIO ENOMEM',
    'fstat': 'EIO EBADF', 'newfstatat': 'EACCES EIO', 'read': 'EIO EINTR EAGAIN ESTALE', 'pread64': 'EIO EINTR ESTALE', 'lseek': 'EBADF EINVAL',
    'write': 'ENOSPC EIO EDQUOT EINTR EFBIG EROFS EAGAIN', 'pwrite64': 'ENOSPC EIO EDQUOT EINTR', 'fdatasync': 'EIO ENOSPC EDQUOT EINTR EROFS',
    'fsync': 'EIO ENOSPC EDQUOT EINTR EROFS', 'ftruncate': 'EIO EINTR', 'getdents64': 'EIO', 'mkdir': 'EACCES ENOSPC EDQUOT EROFS EIO',
    'rename': 'EACCES ENOSPC EROFS EIO', 'unlink': 'EACCES EROFS EIO', 'fchmod': 'EPERM EROFS EIO', 'chmod': 'EPERM EIO', 'close': 'EIO EINTR',
    'clone3': 'EAGAIN ENOMEM', 'getrandom': 'EINTR',
}
# Calls of the append of which two are made to fail; the first only of those that write, where time is short.
WRITES, TWICE = ('write', 'fdatasync'), ('openat', 'flock', 'ftruncate', 'statx', 'pread64', 'fsync', 'mkdir', 'rename', 'unlink', 'close')
CI_OCCURRENCES, FIRST = 6, 'stick 24 Weigela florida, semi-ripe, at bench A'
WORST, NEXT = 'EIO', 'remark the fog nozzle drips'
STARTS = ('none', 'clean', 'torn')


def started(kind):
    """A home whose journal is not there, or holds whole lines, or ends in a torn one."""
    home = Home()
    if kind != 'none':
        home.add(FIRST)
        if kind == 'torn':
            with open(next(home.journal.glob('*.jsonl')), 'ab') as file:
                file.write(b'{"v":1,"id":"01JZ00000000000000000000')
    return home


def traced(home, arguments, log, faults=()):
    before = ['strace', '-f', '-qq', '-o', log, '-e', 'trace=' + ','.join([call for call, _, _ in faults] or ERRNOS)]
    for call, how, when in faults:
        before += ['-e', f'inject={call}:{how}:when={when}']
    return home.run(*arguments, before=before, limit=30)


def occurrences(kind, arguments):
    """How often each call is made, and how many of them by the loader, before the program's own first."""
    with started(kind) as home:
        log = str(home.path / 'calls')
        traced(home, arguments, log)
        counts = {}
        for line in open(log, errors='replace'):
            found = re.match(r'\d+ +(\w+)\(', line)
            if found:
                counts[found[1]] = counts.get(found[1], 0) + 1
    return counts


def tells_unread(out, err):
    """Whether an answer says that a part of the journal could not be read: in words, or in its JSON's `unread`."""
    if b'is left out' in out + err:
        return True
    try:
        return bool(json.loads(out).get('unread'))
    except ValueError:
        return False


def one(tally, kind, faults, arguments, writes):
    """One run with these faults, each a call, what becomes of it, and at which of its occurrences."""
    case = f'{arguments[0]}, {kind} journal, ' + ' and '.join(f'{call} {how} #{when}' for call, how, when in faults)
    killed = any('signal' in how for _, how, _ in faults)
    calls = [call for call, _, _ in faults]
    with started(kind) as home:
        log = str(home.path / 'calls')
        before = home.files()
        sound = None if writes else home.run(*arguments)
        code, out, err = traced(home, arguments, log, faults)
        hit = open(log, errors='replace').read().count('INJECTED') if os.path.exists(log) else -1
        if hit < (0 if killed else 1):
            return 'not reached'
        if hit > 1:
            tally.notes['met both'] += 1
        said = (out + err).decode('utf-8', 'replace')
        if code == 127 or 'error while loading' in said:
            return 'stopped in the loader'
        if not killed and 'clone3' not in calls:
            unharmed(tally, code, said, case)
        after = home.files()
        tally.expect(only_grew(before, after), f'{case}: bytes that stood before have changed')
        if not writes:
            same = (code, out) == sound[:2]
            tally.expect(same or code not in (0, None) or tells_unread(out, err), f'{case}: another answer, and no word of it: {said[:200]}')
            return 'same answer' if same else 'a reason told'
        from common import SAVED
        acked = SAVED.findall(said)
        if not acked and not killed:
            wordless = 'write' in calls and code == 0
            tally.expect(code != 0 or wordless, f'{case}: not acknowledged, yet exit 0')
            tally.expect(any(arguments[1] in d for d in home.drafts()) or 'struck:' in said or 'write' in calls or code == 134,
                         f'{case}: neither a draft nor a reason: {said[:200]}')
        pieces = (kind == 'torn') + (not acked)
        ids, _ = tally.audit(after, acked, case, pieces)
        fresh = sum(ids.values()) - (kind != 'none') - len(acked)
        tally.expect(fresh in (0, 1) and (fresh == 1 or code != 0 or acked), f'{case}: {fresh} more entries than were told, exit {code}')
        again, more, words = home.add(NEXT)
        if tally.expect(again == 0 and more, f'{case}: the next append fails: {words[:300]}'):
            tally.audit(home.files(), more, case + ', next append', pieces)
        code, out, err = home.run('check', '--json')
        tally.expect(code in (0, 3), f'{case}: check ends with {code}')
        return 'saved' if acked else 'not acknowledged, yet on the disk' if fresh else 'refused'


def plan(full, arguments, kinds):
    for kind in kinds:
        for call, count in occurrences(kind, arguments).items():
            most = count if full else min(count, CI_OCCURRENCES if call in ('openat', 'read', 'close', 'statx') else count)
            # The last ones are the program's own; the first are the loader's.
            for nth in range(count - most + 1, count + 1):
                for errno in ERRNOS[call].split():
                    yield kind, [(call, 'error=' + errno, nth)]
                if arguments[0] == 'add' and call != 'close':
                    yield kind, [(call, 'signal=SIGKILL', nth)]


def twice(full, arguments, kinds):
    """Two calls of one run, the second of those made before or of up to two more of its name."""
    for kind in kinds:
        counts = occurrences(kind, arguments)
        own = {call: range(max(1, counts[call] - CI_OCCURRENCES + 1), counts[call] + 1) for call in (*WRITES, *TWICE) if call in counts}
        error = {call: 'error=' + (WORST if WORST in ERRNOS[call] else ERRNOS[call].split()[0]) for call in own}
        for at, first in enumerate(own if full else WRITES):
            for nth in own[first]:
                for later in range(nth + 1, own[first].stop + 2):
                    yield kind, [(first, error[first], f'{nth}..{later}+{later - nth}')]
                for second in list(own)[at + 1:]:
                    for mth in range(own[second].start, own[second].stop + 2):
                        yield kind, [(first, error[first], nth), (second, error[second], mth)]


def part(number, count, name, full, arguments, kinds, writes, cases=plan):
    tally = Tally(name)
    if not shutil.which('strace'):
        return tally.skip('strace is not installed')
    work = lambda it: (it, one(tally, *it, arguments, writes))
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for _, became in pool.map(work, list(cases(full, arguments, kinds))[number::count]):
            tally.cases += became not in ('not reached',)
            tally.notes[became] += 1
    return tally


def shim(tally_name='short and torn writes (shim)'):
    """Real short writes, errors and deaths in the middle of a write, by a library loaded before the C library."""
    tally = Tally(tally_name)
    if not shutil.which('gcc'):
        return tally.skip('gcc is not installed')
    with Home() as scratch:
        library = str(scratch.path / 'shim.so')
        subprocess.run(['gcc', '-shared', '-fPIC', '-O2', '-o', library, str(ROOT / 'tests/proof/shim.c'), '-ldl'], check=True)
        for kind in STARTS:
            for mode in ('short', 'torn', 'enospc', 'eintr', 'tornkill'):
                for share in (1, 10, 50, 90, 99):
                    torn_write(tally, library, kind, mode, share)
    return tally


def torn_write(tally, library, kind, mode, share):
    case = f'{kind} journal, {mode} at {share} %'
    tally.cases += 1
    with started(kind) as home:
        before = home.files()
        code, acked, said = home.add(FIRST, LD_PRELOAD=library, SHIM_MODE=mode, SHIM_SHARE=str(share))
        if mode != 'tornkill':
            unharmed(tally, code, said, case)
            tally.expect((code == 0) == bool(acked), f'{case}: exit {code}, {len(acked)} acknowledged')
        tally.expect(only_grew(before, home.files()), f'{case}: bytes that stood before have changed')
        # What came up short is tried once more under its id: a torn piece may stand before the whole line.
        torn = (kind == 'torn') + (mode not in ('eintr', 'enospc'))
        tally.audit(home.files(), acked, case, torn)
        again, more, words = home.add(NEXT)
        if tally.expect(again == 0 and more, f'{case}: the next append fails: {words}'):
            tally.audit(home.files(), more, case + ', next append', torn)


def units(full):
    def row(count, name, *of):
        return pieces(name, count if full else 1, lambda number, count: part(number, count, name, full, *of))
    yield from row(4, 'each call of `add` failing, and killed at it', ('add', FIRST), STARTS, True)
    yield from row(8, 'two calls of one `add` failing', ('add', FIRST), STARTS if full else ('torn',), True, twice)
    yield from row(1, 'each call of `check` failing', ('check', '--json'), ('clean', 'torn') if full else ('torn',), False)
    yield from row(1, 'each call of `timeline` failing', ('timeline', '--json'), ('clean',), False)
    yield 'shim', shim
