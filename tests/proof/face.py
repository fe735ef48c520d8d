"""The terminal face on a pseudo-terminal, with each of its system calls made to fail by strace.

After each: what the screen called saved stands once; what was typed and not saved is a draft or is told in words;
the program ends by itself when asked or hung up on; the journal reads, and the next append works. Needs strace.
"""
import concurrent.futures, fcntl, os, pty, re, select, shutil, signal, struct, subprocess, termios, time
from common import STRUCK, Home, Tally, only_grew, pieces, readable, PANICKED
from screen import Screen

# As in syscalls.py; less of what only reading does, more of what a terminal does.
ERRNOS = {
    'openat': 'EACCES EIO EMFILE ENOSPC EROFS', 'flock': 'ENOLCK EIO', 'statx': 'EIO', 'fstat': 'EIO', 'newfstatat': 'EIO', 'read': 'EIO EAGAIN', 'pread64': 'EIO',
    'write': 'EIO ENOSPC EAGAIN EFBIG', 'writev': 'EIO', 'pwrite64': 'EIO ENOSPC', 'fdatasync': 'EIO ENOSPC', 'fsync': 'EIO ENOSPC', 'ftruncate': 'EIO', 'getdents64': 'EIO',
    'mkdir': 'EACCES ENOSPC', 'rename': 'EACCES ENOSPC EIO', 'unlink': 'EACCES EIO', 'close': 'EIO', 'ioctl': 'EIO', 'poll': 'EINTR ENOMEM', 'ppoll': 'EINTR ENOMEM',
    'rt_sigaction': 'EINVAL', 'socketpair': 'EMFILE', 'sendto': 'EAGAIN', 'recvfrom': 'EAGAIN', 'clone3': 'EAGAIN', 'lseek': 'EINVAL', 'fcntl': 'EINVAL',
}
STICK, NEXT = 'stick 24 Weigela florida, semi-ripe, at bench A', 'remark the fog nozzle drips'
PATIENCE, CI_CASES = 6.0, 200


class Session:
    """The program on a terminal of its own, perhaps behind a tracer."""

    def __init__(self, home, before=(), more=None):
        self.home, self.screen, self.sent, self.code = home, Screen(), b'', None
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack('HHHH', 24, 80, 0, 0))

        def lead():
            os.setsid()
            fcntl.ioctl(0, termios.TIOCSCTTY, 0)
        self.run = subprocess.Popen([*before, STRUCK], env=home.environment(**(more or {})), stdin=slave, stdout=slave, stderr=slave, preexec_fn=lead, close_fds=True)
        os.close(slave)

    def look(self, until, patience=PATIENCE):
        """Reads until the screen holds one of these, the program ends or patience does; gives what was found."""
        end = time.time() + patience
        while True:
            text = self.screen.text()
            found = next((u for u in until if u in text), None)
            if found or self.run.poll() is not None and not self.read(0):
                return found
            left = end - time.time()
            if left <= 0:
                return None
            self.read(min(left, 0.5))

    def read(self, wait):
        if not select.select([self.master], [], [], wait)[0]:
            return False
        try:
            data = os.read(self.master, 65536)
        except OSError:
            return False
        self.sent += data
        self.screen.feed(data)
        return bool(data)

    def type(self, keys):
        try:
            os.write(self.master, keys.encode())
        except OSError:
            pass

    def hang_up(self):
        """Takes the terminal away and waits for the end; whether it came."""
        os.close(self.master)
        try:
            self.code = self.run.wait(15)
            return True
        except subprocess.TimeoutExpired:
            children = subprocess.run(['pgrep', '-P', str(self.run.pid)], capture_output=True, text=True).stdout.split()
            for process in [*map(int, children), self.run.pid]:
                try:
                    os.kill(process, signal.SIGKILL)
                except ProcessLookupError:
                    pass
            self.run.wait()
            return False


def sitting(session):
    """Opens a look, types its counts, saves it; says whether the screen called it saved, and what it said."""
    session.look(['Weigela'])
    session.type('\r')
    session.look(['nothing yet', 'Look'], 2.0)
    session.type('4 3')
    session.look(['nothing yet 17', '17 of 24'], 2.0)
    session.type('\r')
    told = session.look(['Saved', 'ould not', 'is held by', 'onto the disk'])
    return told == 'Saved', session.screen.text()


def started():
    home = Home()
    home.add(STICK)
    return home


def calls():
    """How often each call is made in one sitting."""
    with started() as home:
        log = str(home.path / 'calls')
        session = Session(home, ['strace', '-f', '-qq', '-o', log, '-e', 'trace=' + ','.join(ERRNOS)])
        saved, text = sitting(session)
        session.type('q')
        session.look(['\0'], 3.0)
        ended = session.hang_up()
        counts = {}
        for line in open(log, errors='replace'):
            found = re.match(r'\d+ +(\w+)\(', line)
            if found:
                counts[found[1]] = counts.get(found[1], 0) + 1
        return counts, saved and ended and session.code == 0, text


def one(tally, call, how, nth):
    case = f'{call} {how} #{nth}'
    with started() as home:
        log, before = str(home.path / 'calls'), home.files()
        session = Session(home, ['strace', '-f', '-qq', '-o', log, '-e', f'trace={call}', '-e', f'inject={call}:{how}:when={nth}'])
        saved, text = sitting(session)
        session.type('q')
        session.look(['\0'], 1.0)
        early = session.run.poll()
        ended = session.hang_up()
        hit = 'INJECTED' in open(log, errors='replace').read()
        said = session.sent.decode('utf-8', 'replace')
        if not hit:
            return 'not reached'
        if early == 127 or 'error while loading' in said or 'assertion failed: signal(' in said:
            # The last is the standard library's own, before the program's first line.
            return 'stopped before the program began'
        tally.expect(ended, f'{case}: does not end when hung up on')
        if call != 'clone3':
            tally.expect(not any(p in said for p in PANICKED) and session.code not in (101, 134), f'{case}: panics: {said[-300:]}')
        tally.expect(only_grew(before, home.files()), f'{case}: bytes that stood before have changed')
        ids, _ = readable(home.files())
        entries = sum(ids.values()) - 1
        tally.acked += saved
        tally.kept += saved and entries == 1
        tally.lost += saved and entries == 0
        tally.doubled += entries > 1
        tally.expect(entries == 1 if saved else entries <= 1, f'{case}: {"saved on screen" if saved else "not saved"}, {entries} entries')
        drafted = any('4 3' in d for d in home.drafts())
        ended_with_word = early not in (None, 0) and 'struck:' in said
        tally.expect(saved or entries == 1 or drafted or ended_with_word or call == 'clone3', f'{case}: neither saved, drafted nor told; exit {early}, {session.code}:\n{text.strip()[-400:]}')
        again, more, words = home.add(NEXT)
        if tally.expect(again == 0 and more, f'{case}: the next append fails: {words[:200]}'):
            tally.audit(home.files(), more, case + ', next append', 1)
        code, _, _ = home.run('check')
        tally.expect(code in (0, 3), f'{case}: check ends with {code}')
        return 'saved on screen' if saved else 'on the disk, not called saved' if entries else 'kept as a draft' if drafted else 'told in words'


def plan(counts, full):
    every = []
    for call, count in sorted(counts.items()):
        for nth in range(1, count + 1):
            every += [(call, 'error=' + errno, nth) for errno in ERRNOS.get(call, '').split()]
    if full or len(every) <= CI_CASES:
        return every
    step = len(every) / CI_CASES
    return [every[int(n * step)] for n in range(CI_CASES)]


def run(full, number=0, count=1):
    tally = Tally('each call of the terminal face failing')
    if not shutil.which('strace'):
        return tally.skip('strace is not installed')
    counts, sound, text = calls()
    tally.expect(sound, f'an untroubled sitting does not save and end:\n{text}')
    work = lambda it: one(tally, *it)
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for became in pool.map(work, plan(counts, full)[number::count]):
            tally.cases += became != 'not reached'
            tally.notes[became] += 1
    return tally


def units(full):
    yield from pieces('face', 8 if full else 1, lambda number, count: run(full, number, count))
