"""Real disks: a small one filled to the last byte, one without room for a new file, a read-only one. Needs root."""
import contextlib, os, subprocess, tempfile
from common import Home, Tally, only_grew, unharmed


@contextlib.contextmanager
def disk(options):
    """A tmpfs with these options; None where it cannot be mounted."""
    folder = tempfile.mkdtemp(prefix='struck-proof-disk-')
    mounted = subprocess.run(['mount', '-t', 'tmpfs', '-o', options, 'tmpfs', folder], capture_output=True).returncode == 0
    try:
        yield folder if mounted else None
    finally:
        if mounted:
            subprocess.run(['umount', folder])
        os.rmdir(folder)


def fill_and_go_on(tally, folder, note):
    """Enters until the disk refuses, makes room, and enters again."""
    ballast = os.path.join(folder, 'ballast')
    with open(ballast, 'wb') as file:
        file.write(bytes(8192))
    with Home(under=folder) as home:
        acked, refused = [], 0
        for number in range(400):
            before = home.files()
            tally.cases += 1
            code, ids, said = home.add(f'remark {number} {"x" * note}')
            unharmed(tally, code, said, f'entry {number} on a small disk')
            tally.expect((code == 0) == bool(ids), f'entry {number}: exit {code} with {len(ids)} acknowledged')
            tally.expect(only_grew(before, home.files()), f'entry {number}: bytes that stood before have changed')
            acked += ids
            if not ids:
                refused += 1
                tally.expect('struck:' in said, f'entry {number}: no reason: {said}')
                if refused == 3:
                    break
        tally.expect(refused, 'the small disk never filled')
        tally.notes['refused in words on the full disk'] += refused
        os.unlink(ballast)
        code, ids, said = home.add('remark there is room again')
        tally.expect(code == 0, f'after making room: {said}')
        tally.audit(home.files(), acked + ids, 'small disk', refused)
        tally.expect(home.run('check')[0] in (0, 3), 'check fails after the full disk')


def full_disk(full):
    tally = Tally('a full disk (tmpfs)')
    for note in range(80, 1000, 40) if full else (100, 333, 777):
        with disk('size=64k') as folder:
            if folder is None:
                return tally.skip('a tmpfs may not be mounted here')
            fill_and_go_on(tally, folder, note)
    return tally


def read_only():
    tally = Tally('a read-only disk, and one without room for a file')
    with disk('size=256k') as folder:
        if folder is None:
            return tally.skip('a tmpfs may not be mounted here')
        with Home(under=folder) as on_disk, Home(journal=on_disk.path / 'journal') as home:
            _, acked, _ = home.add('remark while it could be written')
            subprocess.run(['mount', '-o', 'remount,ro', folder], check=True)
            refuse(tally, home, acked, 'read-only disk')
            tally.expect(home.run('batches')[0] == 0, 'a read-only journal does not read')
            subprocess.run(['mount', '-o', 'remount,rw', folder], check=True)
    with disk('size=256k,nr_inodes=4') as folder, Home(journal=f'{folder}/journal') as home:
        os.mkdir(f'{folder}/journal')
        open(f'{folder}/a', 'w').close()
        open(f'{folder}/b', 'w').close()
        import pathlib
        home.journal = pathlib.Path(home.journal)
        refuse(tally, home, [], 'no room for a file')
    return tally


def refuse(tally, home, acked, case):
    tally.cases += 1
    code, ids, said = home.add('remark it cannot be kept')
    tally.expect(code == 1 and not ids, f'{case}: exit {code}: {said}')
    tally.expect('struck:' in said and any('cannot be kept' in d for d in home.drafts()), f'{case}: no draft: {said}')
    tally.audit(home.files(), acked, case)


def units(full):
    yield 'full', lambda: full_disk(full)
    yield 'read-only', read_only
