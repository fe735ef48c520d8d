"""Who may read, and what is no journal file: permissions, links, pipes, devices, folders, limits, hand edits."""
import os, resource, socket, stat, subprocess
from common import STRUCK, SAVED, Home, Tally, only_grew, unharmed


def mode(path):
    return stat.S_IMODE(os.stat(path).st_mode)


def permissions():
    tally = Tally('permissions of journal, state and drafts')
    for mask in (0o000, 0o022, 0o077):
        old = os.umask(mask)
        try:
            with Home() as home:
                _, acked, _ = home.add('remark a private word')
                os.chmod(home.journal, 0o500)
                lock = home.journal / 'struck.lock'
                lock.unlink()
                lock.mkdir()
                code, _, said = home.add('remark a word refused')
                tally.expect(code == 1 and home.drafts(), f'umask {mask:o}: nothing refused, or no draft: {said}')
                os.chmod(home.journal, 0o700)
                tally.audit(home.files(), acked, f'umask {mask:o}')
                for place in home.path.rglob('*'):
                    if place == lock or place.is_relative_to(lock):
                        continue
                    tally.cases += 1
                    under = home.path / '.local'
                    above = place in (under, under / 'share', under / 'state')
                    tally.expect(above or not mode(place) & 0o077, f'umask {mask:o}: {place} has mode {mode(place):o}')
        finally:
            os.umask(old)
    return tally


def strange_files():
    """Things that bear a journal file's name: told by name, never waited for, and the good file still counts."""
    tally = Tally('pipes, devices, folders, links named .jsonl')
    makers = {
        'a pipe': os.mkfifo, 'a folder': os.mkdir, 'a link to nowhere': lambda p: os.symlink('nowhere', p),
        'a link to /dev/zero': lambda p: os.symlink('/dev/zero', p), 'a link to a secret': lambda p: os.symlink('/etc/hostname', p),
        'a ring of links': lambda p: os.symlink(p, p), 'a socket': lambda p: socket.socket(socket.AF_UNIX).bind(str(p)),
        'a device': lambda p: os.mknod(p, stat.S_IFCHR | 0o666, os.makedev(1, 7)),
    }
    for what, make in makers.items():
        with Home() as home:
            _, acked, _ = home.add('remark a sound line')
            try:
                make(home.journal / 'aa.jsonl')
            except PermissionError:
                tally.notes[f'{what} may not be made here'] += 1
                continue
            tally.cases += 1
            code, out, err = home.run('check', limit=10)
            tally.expect(code == 3 and b'not-a-file' in out, f'{what}: check ends with {code}: {(out + err)[:300]}')
            code, ids, said = home.add('remark another', limit=10)
            unharmed(tally, code, said, what)
            tally.audit({n: d for n, d in home.files().items() if n != 'aa.jsonl'}, acked + ids, what)
            own_strange(tally, home, what, make)
    return tally


def own_strange(tally, home, what, make):
    """The same where the writer's own file, or the journal itself, should be."""
    own = next(p for p in home.journal.glob('*.jsonl') if p.name != 'aa.jsonl')
    own.unlink()
    make(own)
    code, ids, said = home.add('remark into it', limit=10)
    tally.expect(code == 1 and not ids, f'{what} as the own file: exit {code}: {said}')
    tally.expect('struck:' in said and home.drafts(), f'{what} as the own file: no draft: {said}')
    with Home() as other:
        other.journal = other.path / 'it.jsonl'
        make(other.journal)
        if what == 'a folder':
            return
        code, out, err = other.run('check', limit=10)
        if what == 'a link to a secret':
            return
        tally.expect(code == 1, f'{what} as the journal: exit {code}: {(out + err)[:200]}')


def limits():
    """The limit of file size met at each length: told in words, no signal, and the next append works."""
    tally = Tally('limit of file size')
    for room in range(0, 400, 16):
        tally.cases += 1
        with Home() as home:
            _, acked, _ = home.add('remark before the limit')
            before = home.files()
            size = max(len(d) for d in before.values()) + room
            told = subprocess.run([STRUCK, 'add', 'remark beyond the limit'], env=home.environment(), capture_output=True,
                                  preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size)))
            said = (told.stdout + told.stderr).decode()
            ids = SAVED.findall(said)
            unharmed(tally, told.returncode, said, f'limit {room} bytes on')
            tally.expect(ids or 'struck:' in said, f'limit {room} bytes on: no reason: {said}')
            tally.expect(only_grew(before, home.files()), f'limit {room} bytes on: bytes have changed')
            code, more, words = home.add('remark without the limit')
            tally.expect(code == 0, f'limit {room} bytes on: the next append fails: {words}')
            tally.audit(home.files(), acked + ids + more, f'limit {room} bytes on', not ids)
    return tally


def by_hand():
    """Edited by hand: no newline at the end, CRLF, a byte-order mark, empty lines, spaces."""
    tally = Tally('journals edited by hand')
    edits = {
        'no newline': lambda d: d.rstrip(b'\n'), 'CRLF': lambda d: d.replace(b'\n', b'\r\n'), 'byte-order mark': lambda d: b'\xef\xbb\xbf' + d,
        'empty lines': lambda d: b'\n\n' + d.replace(b'\n', b'\n\n  \n'), 'spaces at the end': lambda d: d.replace(b'\n', b'   \n'),
        'all at once': lambda d: b'\xef\xbb\xbf\r\n' + d.replace(b'\n', b' \r\n\r\n').rstrip(),
    }
    for what, edit in edits.items():
        with Home() as home:
            tally.cases += 1
            acked = sum((home.add(f'remark number {n}')[1] for n in range(4)), [])
            own = next(home.journal.glob('*.jsonl'))
            own.write_bytes(edit(own.read_bytes()))
            before = home.files()
            tally.expect(home.run('check')[0] == 0, f'{what}: check finds fault: {home.run("check")[1].decode()}')
            code, ids, said = home.add('remark after the edit')
            tally.expect(code == 0 and only_grew(before, home.files()), f'{what}: {said}')
            plain = {n: d.replace(b'\xef\xbb\xbf', b'') for n, d in home.files().items()}
            plain = {n: b'\n'.join(l.strip() for l in d.split(b'\n')) for n, d in plain.items()}
            tally.audit(plain, acked + ids, what)
            tally.expect(home.run('check')[0] == 0, f'{what}: check finds fault after an append')
    return tally


def units(full):
    yield 'permissions', permissions
    yield 'strange files', strange_files
    yield 'limits', limits
    yield 'by hand', by_hand
