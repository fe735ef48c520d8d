"""From other sides: a program killed between a save and its word, read failures under an open bench, two writers that allot at
once, a group's folder, the lock's name given to another file, keys that break off. Notes what was lost, doubled or frozen.

Needs strace for slow syncs and read failures, root for other users.
"""
import concurrent.futures, contextlib, json, os, pathlib, shutil, signal, stat, subprocess, tempfile, threading, time
from common import STRUCK, Home, Tally, only_grew, pieces, readable
from disks import disk
from face import Session, started

SLOW = '1500000'  # microseconds
STICK = 'stick 12 Escallonia rubra, softwood, at bench A'


def entries(home):
    return sum(readable(home.files())[0].values())


def look_saved(session):
    """Opens a look, types its counts, saves it."""
    session.look(['Weigela'])
    session.type('\r')
    session.look(['nothing yet', 'Look'], 3.0)
    session.type('4 3')
    session.look(['nothing yet 17'], 3.0)
    session.type('\r')


def offered(home):
    """What the next sitting offers."""
    session = Session(home)
    session.look(['Weigela'])
    time.sleep(0.3)
    session.read(0.2)
    text = session.screen.text()
    session.type('q')
    session.hang_up()
    return 'entered' if 'Left unfinished' in text else 'put right' if 'Saved before it broke off' in text else 'nothing'


def killed_after_saved(times):
    tally = Tally('killed right after "Saved"')
    for _ in range(times):
        with started() as home:
            session = Session(home)
            look_saved(session)
            tally.cases += 1
            saved = session.look(['Saved']) == 'Saved'
            os.kill(session.run.pid, signal.SIGKILL)
            session.hang_up()
            tally.acked += saved
            tally.kept += saved and entries(home) == 2
            tally.lost += saved and entries(home) < 2
            became = offered(home)
            tally.notes[f'offered then: {became}'] += 1
            tally.doubled += became == 'entered'
            tally.expect(saved and became != 'entered' and entries(home) == 2, f'{entries(home)} entries, offered to be {became}')
    return tally


def cut_in_sync(times):
    tally = Tally('link cut during a slow sync')
    if not shutil.which('strace'):
        return tally.skip('strace is not installed')
    for _ in range(times):
        with started() as home:
            log = str(home.path / 'calls')
            session = Session(home, ['strace', '-f', '-qq', '-o', log, '-e', 'trace=fdatasync', '-e', f'inject=fdatasync:delay_enter={SLOW}'])
            look_saved(session)
            time.sleep(0.6)
            session.hang_up()
            tally.cases += 1
            stands = entries(home) == 2
            became = offered(home)
            tally.notes[f'{"on the disk" if stands else "not on the disk"}, offered: {became}'] += 1
            tally.lost += not stands and became == 'nothing'
            tally.doubled += stands and became == 'entered'
            tally.expect(became == ('put right' if stands else 'entered') or stands and became == 'nothing', f'{stands}: offered to be {became}')
    return tally


def read_failures():
    """Every look at the files fails for a while under an open bench: what was read stays, and it says so."""
    tally = Tally('reads failing under an open bench')
    if not shutil.which('strace'):
        return tally.skip('strace is not installed')
    for call, errno in (('statx', 'EIO'), ('statx', 'ESTALE'), ('pread64', 'EIO'), ('pread64', 'ESTALE'), ('getdents64', 'EIO')):
        with started() as home:
            log, own = str(home.path / 'calls'), next(home.journal.glob('*.jsonl'))
            session = Session(home)
            session.look(['Weigela'])
            faults = ['strace', '-f', '-qq', '-o', log, '-p', str(session.run.pid), '-e', f'trace={call}', '-e', f'inject={call}:error={errno}']
            tracer = subprocess.Popen(faults, stderr=subprocess.DEVNULL)
            time.sleep(1.0)
            with open(own, 'ab') as file:
                file.write(b'{"at":"2026-06-20","kind":"remark","note":"by another hand"}\n')
            told = session.look(['Cannot read'], 8.0)
            text = session.screen.text()
            tally.cases += 1
            tally.acked += 1
            tally.kept += 'Weigela' in text
            tally.lost += 'Weigela' not in text
            tally.expect('Weigela' in text and told, f'{call} {errno}: {text.strip()[:200]}')
            tracer.terminate()
            tracer.wait()
            end = time.time() + 12
            while 'Cannot read' in session.screen.text() and time.time() < end:
                session.read(0.3)
            tally.expect('Cannot read' not in session.screen.text(), f'{call} {errno}: never taken back')
            session.type('q')
            session.hang_up()
    return tally


def codes_at_once(pairs):
    tally = Tally('two writers allot codes at one moment')
    for _ in range(pairs):
        with Home() as home:
            home.add('remark the first')
            with concurrent.futures.ThreadPoolExecutor(2) as pool:
                said = [f.result() for f in [pool.submit(home.add, STICK) for _ in range(2)]]
            tally.cases += 1
            lines = [json.loads(l) for d in home.files().values() for l in d.split(b'\n') if l]
            codes = [l['batch'] for l in lines if l['kind'] == 'stick']
            tally.audit(home.files(), [i for _, ids, _ in said for i in ids], 'codes')
            tally.doubled += len(codes) - len(set(codes))
            tally.expect(len(set(codes)) == 2, f'codes {codes}')
            told = [l for _, _, text in said for l in text.split() if l.strip('.,').startswith('26-')]
            tally.expect({c.strip('.,') for c in told} >= set(codes), f'told {told}, written {codes}')
    return tally


def synced(one, other):
    """Copies the files of one machine to another, as a sync tool does: the longer of two stays."""
    for path in one.journal.glob('*.jsonl'):
        there = other.journal / path.name
        if not there.exists() or there.stat().st_size < path.stat().st_size:
            shutil.copy(path, there)


def machines_apart():
    """Two machines begin before either saw the other's file; a home is cloned to a second machine."""
    tally = Tally('machines that both began as the first')
    with Home() as one, Home() as two:
        acked = one.add(STICK)[1] + two.add(STICK)[1]
        for _ in range(2):
            for a, b in ((one, two), (two, one)):
                synced(a, b)
            acked += one.add(STICK)[1] + two.add(STICK)[1]
        synced(two, one)
        tally.cases += 1
        lines = {json.loads(l)['id']: json.loads(l) for d in one.files().values() for l in d.split(b'\n') if l}
        codes = [l['batch'] for l in lines.values()]
        # What both gave before the first sync stands twice; nothing after it may.
        tally.audit({n: d for n, d in one.files().items()}, acked, 'apart')
        tally.expect(len(codes) - len(set(codes)) <= 1, f'codes {sorted(codes)}')
        tally.notes['codes given twice, before the first sync'] = len(codes) - len(set(codes))
    return tally


@contextlib.contextmanager
def other_users():
    """The program where any user may run it."""
    with tempfile.TemporaryDirectory(prefix='struck-proof-users-') as folder:
        os.chmod(folder, 0o755)
        program = pathlib.Path(folder) / 'struck'
        shutil.copy(STRUCK, program)
        os.chmod(program, 0o755)
        yield pathlib.Path(folder), str(program)


def group_folder():
    tally = Tally("a group's folder: two users, umasks, setgid")
    if os.getuid():
        return tally.skip('not root')
    group, users = 7001, (7002, 7003)

    def add(program, folder, user, umask, line):
        def lead():
            os.setgroups([group])
            # Their own group is another: only the folder's is shared.
            os.setgid(user)
            os.setuid(user)
            os.umask(umask)
        home = folder / f'home-{user}'
        home.mkdir(exist_ok=True)
        os.chown(home, user, user)
        surroundings = {'HOME': str(home), 'USER': f'user{user}', 'LANG': 'C.UTF-8', 'STRUCK_JOURNAL': str(folder / 'journal'), 'PATH': '/usr/bin:/bin'}
        done = subprocess.run([program, 'add', line], env=surroundings, capture_output=True, preexec_fn=lead, text=True)
        return done.returncode, done.stdout + done.stderr
    for umask in (0o002, 0o007, 0o022, 0o027, 0o077):
        for mode in (0o770, 0o2770):
            for root_first in (False, True):
                with other_users() as (folder, program):
                    journal = folder / 'journal'
                    journal.mkdir()
                    os.chown(journal, users[0], group)
                    os.chmod(journal, mode)
                    case = f'umask {umask:03o}, folder {mode:o}{", root first" if root_first else ""}'
                    if root_first:
                        surroundings = dict(os.environ, HOME=str(folder / 'root'), STRUCK_JOURNAL=str(journal))
                        subprocess.run([program, 'add', 'remark by root'], env=surroundings, capture_output=True)
                    for n, user in enumerate((*users, *users)):
                        code, said = add(program, folder, user, umask, f'remark number {n}')
                        tally.cases += 1
                        tally.acked += code == 0
                        tally.expect(code == 0, f'{case}: user {user} is refused: {said[:200]}')
                        tally.expect('left out' not in said, f'{case}: user {user} cannot read: {said[:200]}')
                    stood = sum(p.read_bytes().count(b'"note":"number') for p in journal.glob('*.jsonl'))
                    tally.kept += stood
                    tally.lost += 4 - stood
                    held = os.stat(journal / 'struck.lock')
                    tally.expect(held.st_size == 0 and stat.S_IMODE(held.st_mode) & 0o060 == 0o060 and held.st_gid == group, f'{case}: the lock has mode {held.st_mode:o}')
    return tally


def lock_as_weapon():
    tally = Tally("the lock's name given to another file")
    with Home() as home:
        acked = home.add('remark the first')[1]
        own, lock = next(home.journal.glob('*.jsonl')), home.journal / 'struck.lock'
        makers = {'the journal itself': lambda: os.link(own, lock), 'a link': lambda: os.symlink(own.name, lock), 'a pipe': lambda: os.mkfifo(lock), 'a folder': lambda: os.mkdir(lock)}
        for what, make in makers.items():
            lock.unlink() if not lock.is_dir() else lock.rmdir()
            make()
            before = home.files()
            code, ids, said = home.add('remark behind it', limit=20)
            tally.cases += 1
            tally.expect(code == 1 and not ids and 'struck.lock' in said, f'{what}: exit {code}: {said}')
            tally.expect(home.files() == before, f'{what}: the journal has changed')
        lock.rmdir()
        acked += home.add('remark the lock is made anew')[1]
        tally.audit(home.files(), acked, 'lock')
    with Home() as home:
        for name in ('Cargo', 'notes.txt'):
            home.journal = home.path / name
            home.journal.write_text('of another\n')
            (home.path / f'{name}.lock').write_text('of another\n')
            code, ids, said = home.add('remark into it')
            tally.cases += 1
            tally.expect(code == 1 and not ids, f'{name}: exit {code}: {said}')
            held = [(home.path / n).read_text() for n in (name, f'{name}.lock')]
            tally.expect(held == ['of another\n'] * 2, f'{name}: touched: {held}')
    return tally


def missing_journal():
    tally = Tally('a journal that is gone, or mistyped')
    with Home() as home:
        code, acked, said = home.add('remark the first')
        tally.expect(f'A new journal is begun at {home.journal}' in said, said)
        away = home.path / 'away'
        home.journal.rename(away)
        for empty in (False, True):
            if empty:
                home.journal.mkdir()
            tally.cases += 1
            code, ids, said = home.add('remark into nothing')
            tally.expect(code == 1 and not ids and '--new-journal' in said, f'exit {code}: {said}')
        home.journal.rmdir()
        away.rename(home.journal)
        acked += home.add('remark it is back')[1]
        tally.audit(home.files(), acked, 'missing')
    return tally


def broken_off():
    """Sequences that nothing follows, then a signal: it ends within a second, the draft kept."""
    tally = Tally('key sequences that break off, then a signal')
    for keys in (b'\x1b[', b'\x1bO', b'\x1b[1;', b'\x1b[200~paste', b'\x1b]0;', b'\x1bP', b'\xe4'):
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            with started() as home:
                session = Session(home)
                session.look(['Weigela'])
                session.type('\r')
                session.look(['nothing yet'], 3.0)
                session.type('7')
                session.look(['nothing yet 17'], 3.0)
                os.write(session.master, keys)
                time.sleep(0.2)
                if number == signal.SIGTERM:
                    # Twice as long as anything is waited for; then a hand goes on typing.
                    time.sleep(2.0)
                    session.type(' 5')
                    heard = session.look(['nothing yet 12', '5'], 5.0) and '5' in session.screen.text()
                    tally.notes['frozen'] += not heard
                    tally.expect(heard, f'{keys}: the next keys are not heard')
                begun = time.time()
                os.kill(session.run.pid, number)
                while session.run.poll() is None and time.time() - begun < 10:
                    session.read(0.05)
                took = time.time() - begun
                tally.cases += 1
                tally.notes['frozen'] += session.run.poll() is None
                tally.expect(session.run.poll() is not None and took < 1, f'{keys} {number.name}: {took:.1f} s')
                kept = any('7' in d for d in home.drafts())
                tally.acked += 1
                tally.kept += kept
                tally.lost += not kept
                tally.expect(kept, f'{keys} {number.name}: no draft')
                session.hang_up()
    return tally


def unread_answers():
    """A file that the disk refuses to give while a command reads it: the answer says so before all else."""
    tally = Tally('commands on a journal of which a file is refused')
    if not shutil.which('strace'):
        return tally.skip('strace is not installed')
    commands = (['batches'], ['check'], ['due'], ['timeline'], ['forecast'], ['season'], ['show', '26-001'], ['climate'], ['plan'], ['intervals'], ['add', 'remark it drips'])
    for errno in ('EIO', 'EACCES', 'ESTALE'):
        for words in commands:
            for json_too in ([], ['--json']) if words[0] not in ('add',) else ([],):
                with started() as home:
                    refused = home.journal / 'other.jsonl'
                    refused.write_bytes(b'{"at":"2026-06-20","kind":"remark","note":"by another hand"}\n')
                    call = ('pread64', 'read') if errno == 'EIO' else ('openat',)
                    log = str(home.path / 'calls')
                    before = ['strace', '-f', '-qq', '-o', log, '-P', str(refused), '-e', f'trace={",".join(call)}', *[a for c in call for a in ('-e', f'inject={c}:error={errno}')]]
                    code, out, err = home.run(*words, *json_too, before=before)
                    case = f'{words + json_too} {errno}'
                    tally.cases += 1
                    if not tally.expect('INJECTED' in open(log, errors='replace').read(), f'{case}: nothing was refused'):
                        continue
                    heard = out.startswith(b'! A part of the journal could not be read') or err.startswith(b'! A part of the journal could not be read')
                    if json_too:
                        heard = heard and [f['file'] for f in json.loads(out).get('unread', [])] == [str(refused)]
                    tally.expect(heard and code in (0, 3), f'{case}: exit {code}: {(out + err)[:300]}')
                    tally.notes['said so first'] += heard
    return tally


def bursts(full):
    """Bursts of any length with and without the marks of a paste, some cut short: all of it is typed, and the next key is heard."""
    tally = Tally('bursts and pastes of any length, ends lost')
    for size in (1000, 1024, 1025, 5000, 70_000, 1_040_000) if full else (1024, 5000, 70_000):
        for marks in ('none', 'both', 'no end'):
            with started() as home:
                session = Session(home)
                session.look(['Weigela'])
                session.type('n')
                session.look(['Note:'], 5.0)
                # Without marks it is typed key by key, which is not as long as a note may be.
                length = min(size, 3900) if marks == 'none' else size
                note = ('drip ' * (length // 5 + 1))[:length - 3] + 'end'
                sent = {'none': note, 'both': f'\x1b[200~{note}\x1b[201~', 'no end': f'\x1b[200~{note}'}[marks].encode()
                feeding = threading.Thread(target=feed, args=(session.master, sent))
                feeding.start()
                case, patience = f'{size} bytes, marks: {marks}', 60.0
                tally.cases += 1
                heard = session.look(['end'], patience)
                feeding.join()
                session.type('x')
                heard = heard and session.look(['endx'], patience)
                tally.notes['frozen'] += not heard
                session.type('\r')
                saved = session.look(['Saved'], patience)
                stood = [json.loads(l).get('note', '') for d in home.files().values() for l in d.split(b'\n') if l]
                tally.acked += bool(saved)
                tally.kept += note + 'x' in stood
                tally.lost += bool(saved) and note + 'x' not in stood
                tally.expect(heard and saved and note + 'x' in stood, f'{case}: heard {heard}, saved {saved}, {[len(n) for n in stood]}')
                session.type('q')
                session.hang_up()
    return tally


def feed(master, data):
    sent = 0
    while sent < len(data):
        sent += os.write(master, data[sent:sent + 4096])


def state_disk():
    """The disk of the drafts is full while somebody types, has room again, and then the link is cut."""
    tally = Tally('no room for the draft while typing, then room, then a cut')
    for room_again in (True, False):
        with disk('size=128k') as folder:
            if folder is None:
                return tally.skip('a tmpfs may not be mounted here')
            with started() as home:
                state = {'XDG_STATE_HOME': folder}
                session = Session(home, more=state)
                session.look(['Weigela'])
                ballast = pathlib.Path(folder) / 'ballast'
                with contextlib.suppress(OSError), open(ballast, 'wb', buffering=0) as file:
                    while True:
                        file.write(bytes(512))
                session.type('\r')
                session.look(['nothing yet'], 5.0)
                session.type('4')
                told = session.look(['cannot be kept'], 8.0)
                session.type(' 3')
                session.look(['nothing yet 17'], 5.0)
                if room_again:
                    ballast.unlink()
                    session.type(' 0')
                    end = time.time() + 8
                    while 'cannot be kept' in session.screen.text() and time.time() < end:
                        session.read(0.2)
                    tally.expect('cannot be kept' not in session.screen.text(), 'told still, though there is room')
                session.hang_up()
                drafts = [p.read_text('utf-8', 'replace') for p in pathlib.Path(folder).rglob('*.draft')]
                kept = any('4 3 0' in draft for draft in drafts)
                tally.cases += 1
                tally.notes['told while it could not be kept'] += bool(told)
                tally.acked += room_again
                tally.kept += room_again and kept
                tally.lost += room_again and not kept
                tally.expect(told and (kept or not room_again), f'room again: {room_again}; told: {told}; drafts: {drafts}')
    return tally


def units(full):
    yield from pieces('killed after saved', 4 if full else 1, lambda _, count: killed_after_saved(100 // count if full else 8))
    yield 'cut in sync', lambda: cut_in_sync(20 if full else 2)
    yield 'read failures', read_failures
    yield 'answers', unread_answers
    yield from pieces('codes at once', 5 if full else 1, lambda _, count: codes_at_once(500 // count if full else 20))
    yield 'machines apart', machines_apart
    yield 'group folder', group_folder
    yield 'lock as weapon', lock_as_weapon
    yield 'missing journal', missing_journal
    yield 'broken off', broken_off
    yield 'bursts', lambda: bursts(full)
    yield 'state disk', state_disk
