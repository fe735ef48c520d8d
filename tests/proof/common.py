"""Scratch homes, runs of the program, and the audit of what a journal holds, made without the program.

The audit is this file's own: JSON by Python's parser, CRC-32C from its published polynomial (Castagnoli,
reflected 82F63B78; `123456789` gives e3069283, as in RFC 3720 and the catalogues of CRCs).
"""
import collections, functools, hashlib, json, os, pathlib, re, shutil, subprocess, tempfile, time

ROOT = pathlib.Path(__file__).resolve().parents[2]
STRUCK = os.environ.get('STRUCK_PROGRAM', str(ROOT / 'target/release/struck'))
NOW = '2026-06-30T09:00:00+01:00'
SAVED = re.compile(r'^Saved: .*?entry ([0-9A-Za-z_-]+)\.$', re.M)
PANICKED = ('panicked at', 'RUST_BACKTRACE')


def _table():
    out = []
    for n in range(256):
        for _ in range(8):
            n = (n >> 1) ^ (0x82F63B78 if n & 1 else 0)
        out.append(n)
    return out


_CRC = _table()


def crc32c(data):
    value = 0xFFFFFFFF
    for byte in data:
        value = _CRC[(value ^ byte) & 255] ^ (value >> 8)
    return value ^ 0xFFFFFFFF


assert crc32c(b'123456789') == 0xE3069283


class Home:
    """A home folder with a journal in it, gone when the object is."""

    def __init__(self, journal=None, under=None):
        self.path = pathlib.Path(tempfile.mkdtemp(prefix='struck-proof-', dir=under))
        self.journal = journal or self.path / 'journal'
        self.now = NOW

    def __enter__(self):
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.path, ignore_errors=True)

    def environment(self, **more):
        return dict({'HOME': str(self.path), 'LANG': 'C.UTF-8', 'COLUMNS': '100', 'USER': 'grower', 'PATH': os.environ['PATH'],
                     'STRUCK_NOW': self.now, 'STRUCK_JOURNAL': str(self.journal), 'TERM': 'xterm-256color'}, **more)

    def run(self, *arguments, before=(), limit=60, **more):
        """Runs the program, behind `before` (a tracer); gives exit code, output, errors. A hang is code None."""
        if STOPPED:
            raise KeyboardInterrupt
        try:
            done = subprocess.run([*before, STRUCK, *arguments], env=self.environment(**more), capture_output=True,
                                  timeout=limit, stdin=subprocess.DEVNULL)
        except subprocess.TimeoutExpired as late:
            return None, late.stdout or b'', late.stderr or b''
        return done.returncode, done.stdout, done.stderr

    def add(self, line, *more, **how):
        """Enters a line; gives exit code, the ids told as saved, and all that was said."""
        code, out, err = self.run('add', line, *more, **how)
        said = (out + err).decode('utf-8', 'replace')
        return code, SAVED.findall(said), said

    def files(self):
        """Name and bytes of each file of the journal."""
        if self.journal.is_file():
            return {self.journal.name: self.journal.read_bytes()}
        if not self.journal.is_dir():
            return {}
        return {p.name: p.read_bytes() for p in sorted(self.journal.glob('*.jsonl')) if p.is_file()}

    def drafts(self):
        return [p.read_text('utf-8', 'replace') for p in self.path.rglob('*.draft')]


def readable(files):
    """How often each id stands in whole, sound lines, and how many pieces are no such line.

    The same bytes again are a retry under the same id, which the format counts once.
    """
    ids, broken, seen = collections.Counter(), 0, set()
    for data in files.values():
        for line in data.split(b'\n'):
            if not line.strip() or line in seen:
                continue
            seen.add(line)
            try:
                entry = json.loads(line.decode())
                body, _, tail = line.rpartition(b',"crc":"')
                if tail and tail != b'%08x"}' % crc32c(body):
                    raise ValueError('crc')
                ids[entry.get('id', line)] += 1
            except ValueError:
                broken += 1
    return ids, broken


def only_grew(before, after):
    """Whether every byte that stood before still stands where it was."""
    return all(after.get(name, b'').startswith(data) for name, data in before.items())


COUNTS = ('cases', 'acked', 'kept', 'doubled', 'lost', 'unreadable')
# When the run is to end, of a run that has a limit: a piece that can stop in the middle heeds it.
ENDS = [float('inf')]


# Not empty once the run was interrupted: no thread begins anything more.
STOPPED = []


def pieces(name, count, work):
    """A row in so many pieces that each stand alone: each is given its number and how many there are."""
    for number in range(count):
        yield f'{name}, piece {number + 1} of {count}' if count > 1 else name, functools.partial(work, number, count)


def build():
    """What tells one build of the program from another."""
    return hashlib.sha256(pathlib.Path(STRUCK).read_bytes()).hexdigest()[:16]


class Tally:
    """One row of the table that is printed."""

    def __init__(self, name):
        self.name, self.cases, self.acked, self.kept, self.doubled, self.lost, self.unreadable = name, 0, 0, 0, 0, 0, 0
        self.notes, self.figures, self.wrong, self.skipped, self.unfinished = collections.Counter(), [], [], None, False

    def add(self, other):
        """Adds the counts of a further piece of the same row."""
        for count in COUNTS:
            setattr(self, count, getattr(self, count) + getattr(other, count))
        self.notes += other.notes
        self.figures += other.figures
        self.wrong += other.wrong
        self.skipped = self.skipped or other.skipped
        self.unfinished |= other.unfinished

    def kept_as(self):
        """As it is written to a file, and read from it again."""
        return {name: dict(value) if name == 'notes' else value for name, value in vars(self).items()}

    @classmethod
    def read(cls, held):
        tally = cls(held['name'])
        vars(tally).update(held, notes=collections.Counter(held['notes']))
        return tally

    def audit(self, files, acked, case, broken_allowed=0):
        """Holds a journal against what was acknowledged. Torn pieces, closed off, are allowed up to a number."""
        ids, broken = readable(files)
        for name in acked:
            self.acked += 1
            count = ids[name]
            self.kept += count >= 1
            if count == 0:
                self.lost += 1
                self.fault(f'{case}: {name} was acknowledged and is lost')
            if count > 1:
                self.doubled += 1
                self.fault(f'{case}: {name} stands {count} times')
        if broken > broken_allowed:
            self.unreadable += broken - broken_allowed
            self.fault(f'{case}: {broken} lines do not read, {broken_allowed} expected')
        if broken:
            self.notes['torn pieces, closed off'] += broken
        return ids, broken

    def expect(self, held, what):
        if not held:
            self.fault(what)
        return held

    def fault(self, what):
        self.wrong.append(what)

    def skip(self, why):
        self.skipped = why
        return self


def unharmed(tally, code, said, case):
    """That a run ended by itself, in words: no panic, no signal, no hang."""
    text = said if isinstance(said, str) else said.decode('utf-8', 'replace')
    return tally.expect(code is not None, f'{case}: hangs') and \
        tally.expect(code >= 0 and code != 101 and not any(p in text for p in PANICKED), f'{case}: exit {code}: {text[-300:]}')
