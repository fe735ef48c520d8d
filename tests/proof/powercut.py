"""Power cuts: a real file system stopped dead at random moments, and every state that the program's own calls allow.

The first mounts ext4 from a file and has the kernel drop all that was not yet on the disk (its shutdown call, as its
own tests use it), mounts it again and looks. The second records the calls of a real sitting by strace and builds
what a disk may hold after a cut between any two of them: of what was written since the last sync none, all, a part,
zeros, or any of its sectors; of names made since the last sync of their folder any. Needs root and mkfs.ext4; strace.
"""
import contextlib, fcntl, os, pathlib, random, re, shutil, struct, subprocess, tempfile, threading, time
from common import Home, Tally, pieces, readable, unharmed

SHUTDOWN, NO_LOG_FLUSH = 0x8004587D, 2  # FS_IOC_SHUTDOWN, FS_SHUTDOWN_FLAGS_NOLOGFLUSH: linux/fs.h, ext4.h
SEED, SECTOR = 20260614, 512


@contextlib.contextmanager
def disk(options=()):
    """A folder with an image of ext4 in it and a place to mount it; None where that may not be done."""
    folder = pathlib.Path(tempfile.mkdtemp(prefix='struck-proof-cut-'))
    image, place = folder / 'image', folder / 'disk'
    place.mkdir()
    with open(image, 'wb') as file:
        file.truncate(24 << 20)
    made = shutil.which('mkfs.ext4') and subprocess.run(['mkfs.ext4', '-q', '-F', *options, str(image)], capture_output=True).returncode == 0
    try:
        yield (image, place) if made and mount(image, place) else None
    finally:
        subprocess.run(['umount', str(place)], capture_output=True)
        shutil.rmtree(folder, ignore_errors=True)


def mount(image, place):
    return subprocess.run(['mount', '-o', 'loop', str(image), str(place)], capture_output=True).returncode == 0


def cut(place):
    """The power goes: nothing more reaches the disk, not even the file system's own log."""
    folder = os.open(place, os.O_RDONLY)
    try:
        fcntl.ioctl(folder, SHUTDOWN, struct.pack('I', NO_LOG_FLUSH))
    except OSError:
        return False
    finally:
        os.close(folder)
    return True


def sudden(full, number=0, count=1):
    tally = Tally('power cut on ext4, at random moments')
    dice, cuts = random.Random(SEED + number), 400 // count if full else 12
    for turn in range(cuts):
        with disk(('-O', '^has_journal') if turn % 4 == 3 else ()) as made:
            if made is None:
                return tally.skip('an image of ext4 may not be made or mounted here')
            image, place = made
            with Home() as outside:
                homes = [Home(journal=place / 'greenhouse/journal', under=outside.path) for _ in range(dice.choice((1, 3)))]
                told, stop = [], threading.Event()

                def write(home, number):
                    for n in range(10_000):
                        if stop.is_set():
                            return
                        code, ids, said = home.add(f'remark writer {number} line {n}')
                        told.extend((time.time(), i) for i in ids)
                        unharmed(tally, code, said, f'cut {turn}')
                hands = [threading.Thread(target=write, args=it) for it in zip(homes, range(9))]
                for hand in hands:
                    hand.start()
                time.sleep(dice.uniform(0.0, 0.4))
                gone = time.time()
                able = cut(place)
                stop.set()
                for hand in hands:
                    hand.join()
                # What is told later nobody could have read; and the kernel lets a sync in flight return well.
                acked = [i for when, i in told if when < gone]
                tally.notes['told while the power went, not counted'] += len(told) - len(acked)
                if not able:
                    return tally.skip('this kernel does not stop a file system')
                subprocess.run(['umount', str(place)], capture_output=True)
                if turn % 4 == 3:
                    subprocess.run(['fsck.ext4', '-y', str(image)], capture_output=True)
                tally.expect(mount(image, place), f'cut {turn}: the disk does not mount again')
                tally.cases += 1
                home = homes[0]
                # The file system without a log may lose a synced name's folder above: the program syncs each.
                torn = len(homes)
                tally.audit(home.files(), acked, f'cut {turn}', torn)
                code, more, words = home.add('remark after the cut')
                if tally.expect(code == 0, f'cut {turn}: the next append fails: {words}'):
                    tally.audit(home.files(), more, f'cut {turn}, next append', torn)
                tally.expect(home.run('check')[0] in (0, 3), f'cut {turn}: check fails')
    return tally


CALL = re.compile(r'^(\d+) +(\w+)\((.*)\) += (-?\d+)')
TRACED = 'openat,mkdir,write,pwrite64,ftruncate,fdatasync,fsync,rename,renameat,renameat2,unlink,close,dup,dup2'


def recorded(home, entries):
    """The calls on files of several entries made one after another, and what was acknowledged after which call."""
    calls, acks = [], []
    for n in range(entries):
        log = home.path / 'calls'
        _, ids, _ = home.run_traced(n, log)
        open_as = {}
        for line in open(log, errors='replace'):
            found = CALL.match(line)
            if not found or int(found[4]) < 0:
                continue
            name, words, result = found[2], found[3], int(found[4])
            texts = [unescaped(t) for t in re.findall(r'"((?:[^"\\]|\\.)*)"', words)]
            number = int(words.split(',')[0].split('<')[0].strip(')')) if words[:1].isdigit() else None
            if name == 'openat':
                open_as[result] = texts[0].decode()
                if 'O_CREAT' in words:
                    calls.append(('make', open_as[result], None))
            elif name == 'mkdir':
                calls.append(('folder', texts[0].decode(), None))
            elif name in ('write', 'pwrite64', 'ftruncate') and number in open_as:
                calls.append((name, open_as[number], texts[0] if texts else int(words.split(',')[1])))
            elif name in ('fdatasync', 'fsync') and number in open_as:
                calls.append(('sync', open_as[number], None))
            elif name == 'close':
                open_as.pop(number, None)
        acks.append((len(calls), ids))
    return calls, acks


def unescaped(text):
    return text.encode('latin-1').decode('unicode_escape').encode('latin-1')


def states(calls, dice, each):
    """What the disk may hold after a cut behind each call: drawn by lot, the extremes always among them."""
    for after in range(len(calls) + 1):
        for turn in range(each):
            chance = (0.0, 1.0)[turn] if turn < 2 else dice.random()
            files, names = {}, {}
            for name, path, what in calls[:after]:
                file = files.setdefault(path, [b'', b''])
                if name in ('make', 'folder'):
                    names.setdefault(path, False)
                elif name == 'write':
                    file[0] += what
                elif name == 'pwrite64':
                    file[0] = what
                elif name == 'ftruncate':
                    file[0] = file[0][:what]
                elif name == 'sync':
                    file[1] = file[0]
                    for under in names:
                        if os.path.dirname(under) == path:
                            names[under] = True
            yield after, {path: left(file, chance, dice) for path, file in files.items()
                          if all(names.get(p, True) or dice.random() < chance for p in (path, os.path.dirname(path)))}


def left(file, chance, dice):
    """Of what was not synced: none, all, the first bytes, zeros of its length or at its head, or any of its sectors, the
    others zeros."""
    now, lasting = file
    if now == lasting or dice.random() >= chance:
        return lasting
    fresh = now[len(lasting):]
    kind = dice.randrange(5)
    if kind == 0:
        return now
    if kind == 1:
        return lasting + fresh[:dice.randint(0, len(fresh))]
    if kind == 2:
        return lasting + bytes(len(fresh))
    if kind == 3:
        # Sectors are whole in themselves; the first holds what was synced before, which stays.
        whole = bytearray(now)
        for begin in range(len(lasting) // SECTOR * SECTOR, len(now), SECTOR):
            if dice.random() < 0.5:
                first = max(begin, len(lasting))
                whole[first:begin + SECTOR] = bytes(len(whole[first:begin + SECTOR]))
        return bytes(whole)
    part = dice.randint(0, len(fresh))
    return lasting + bytes(part) + fresh[part:]


def allowed(full, number=0, count=1):
    """Every acknowledged entry in every state that the recorded calls allow, and the append that follows."""
    tally = Tally('states that a cut between any two calls allows')
    if not shutil.which('strace'):
        return tally.skip('strace is not installed')
    dice, each, looked = random.Random(SEED + number), 3600 // count if full else 120, 0
    with TracedHome() as home:
        every, acks = recorded(home, 4)
        ours = lambda path: path.startswith(str(home.journal)) or str(home.journal).startswith(path.rstrip('/'))
        calls = [c for c in every if ours(c[1])]
        when = [(sum(ours(c[1]) for c in every[:end]), ids) for end, ids in acks]
        tally.expect(sum(len(ids) for _, ids in when) == 4 and any(c[0] == 'sync' for c in calls), f'nothing was recorded: {calls[:5]}')
        for after, files in states(calls, dice, each):
            tally.cases += 1
            acked = [i for end, ids in when if end <= after for i in ids]
            lines = {p: d for p, d in files.items() if p.endswith('.jsonl')}
            ids, broken = readable(lines)
            for name in acked:
                tally.acked += 1
                tally.kept += ids[name] == 1
                tally.lost += ids[name] == 0
                tally.doubled += ids[name] > 1
                tally.expect(ids[name] == 1, f'after call {after} {calls[after - 1][:2]}: {name} stands {ids[name]} times')
            tally.expect(broken <= 1, f'after call {after}: {broken} lines do not read')
            if tally.cases % 97 == 0:
                looked += 1
                went_on(tally, lines, acked, after)
    tally.notes['gone on from by the real program'] = looked
    return tally


def went_on(tally, lines, acked, after):
    """The real program on such a disk: it reads, and the next entry goes beside the torn one."""
    with Home() as home:
        home.journal.mkdir()
        for path, data in lines.items():
            (home.journal / os.path.basename(path)).write_bytes(data)
        code, _, err = home.run('check')
        tally.expect(code in (0, 3), f'after call {after}: check ends with {code}: {err[:200]}')
        code, more, words = home.add('remark after the cut')
        if tally.expect(code == 0, f'after call {after}: the next append fails: {words}'):
            ids, _ = readable(home.files())
            tally.expect(all(ids[i] == 1 for i in acked + more), f'after call {after}: lost by the next append')


class TracedHome(Home):
    def run_traced(self, number, log):
        """One entry, its calls on files written to a log."""
        before = ['strace', '-f', '-qq', '-s', '1000000', '-o', str(log), '-e', 'trace=' + TRACED]
        return self.add(f'remark number {number} ' + 'and more ' * (number * 150), before=before)


def units(full):
    yield from pieces('allowed', 12 if full else 1, lambda number, count: allowed(full, number, count))
    yield from pieces('sudden', 4 if full else 1, lambda number, count: sudden(full, number, count))
