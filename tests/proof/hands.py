"""Many hands: eight writers at once, folders merged in any order, a file renamed over, a clock that goes back."""
import concurrent.futures, json, os, pathlib, random, shutil, subprocess, threading, time
from common import Home, STOPPED, Tally, pieces, readable

WRITERS, SEED = 8, 20260614


def writer(home, number, count):
    """Enters as many lines, trying again when told that another holds the lock."""
    acked, refused, odd = [], 0, []
    for n in range(count):
        for _ in range(20):
            code, ids, said = home.add(f'remark writer {number} line {n}')
            acked += ids
            if ids:
                break
            refused += 1
            if 'is held by' not in said:
                odd.append(said)
    return acked, refused, odd


def at_once(name, own_files, rounds, count):
    tally = Tally(name)
    for turn in range(rounds):
        with Home() as base:
            homes = [Home(journal=base.journal, under=base.path) if own_files else base for _ in range(WRITERS)]
            base.add('remark the first')
            going = threading.Event()
            reader = threading.Thread(target=beside, args=(tally, base, going), daemon=True)
            reader.start()
            with concurrent.futures.ThreadPoolExecutor(WRITERS) as pool:
                for acked, refused, odd in pool.map(lambda n: writer(homes[n], n, count), range(WRITERS)):
                    tally.cases += count
                    tally.notes['told that another holds the lock'] += refused
                    tally.wrong += odd
                    tally.notes['acknowledged'] += len(acked)
                    tally.expect(len(acked) == count, f'{len(acked)} of {count} acknowledged')
                    tally.audit(base.files(), acked, f'round {turn}')
            going.set()
            reader.join()
            tally.expect(base.run('check')[0] == 0, 'check finds fault after many writers')
    del tally.notes['acknowledged']
    return tally


def beside(tally, home, done):
    """A reader beside the writers meets no fault."""
    while not done.is_set() and not STOPPED:
        code, out, err = home.run('check')
        tally.expect(code == 0, f'a reader beside: exit {code}: {(out + err)[:200]}')
        tally.notes['checks beside'] += 1


def answers(home):
    return [home.run(*a)[1] for a in (('timeline', '--json'), ('timeline', '--by', 'wood', '--json'), ('batches', '--json'), ('intervals', '--json'))]


def merged(cases, piece=0):
    """The lines of one journal, split over files in any way, in any order, some of them twice: the same book."""
    tally = Tally('folders merged: any split, order, doubling')
    sample = pathlib.Path(__file__).resolve().parents[2] / 'sample-journals'
    dice = random.Random(SEED + piece)
    lines = {name: [l for f in sorted((sample / name).glob('*.jsonl')) for l in f.read_bytes().split(b'\n') if l] for name in ('first-days', 'nursery')}
    sound = {}
    for case in range(cases):
        name = 'nursery' if case % 8 == 0 else 'first-days'
        with Home() as home:
            if name not in sound:
                shutil.copytree(sample / name, home.journal)
                sound[name] = answers(home)
                shutil.rmtree(home.journal)
            home.journal.mkdir()
            parts = [[] for _ in range(dice.randint(1, 6))]
            for line in lines[name]:
                # A line without an id is another entry each time that it stands in one file: kept single.
                for _ in range(dice.choice((1, 1, 1, 2, 3)) if b'"id":' in line else 1):
                    dice.choice(parts).append(line)
            for number, part in enumerate(parts):
                dice.shuffle(part)
                ending = dice.choice(('', '.sync-conflict-20260614-093000-ABCDEFG'))
                (home.journal / f'm{number}{ending}.jsonl').write_bytes(b'\n'.join(part) + dice.choice((b'', b'\n')))
            tally.cases += 1
            same = answers(home) == sound[name]
            tally.acked += len(lines[name])
            ids, _ = readable(home.files())
            tally.kept += len(lines[name]) if same else 0
            tally.expect(same, f'{name}, case {case}: another answer than the journal as it was')
    return tally


def two_machines():
    """Two machines begin from one folder, go on apart, and are merged: copied either way, by union, twice."""
    tally = Tally('two machines merged, by copy and by union')
    with Home() as one, Home() as two:
        acked = [i for n in range(5) for i in one.add(f'stick {20 + n} Weigela florida, semi-ripe, at bench A', '--at', '2026-05-01')[1]]
        shutil.copytree(one.journal, two.journal)
        two.now = '2026-06-29T23:30:00-03:00'
        for n in range(6):
            acked += one.add(f'look 26-00{n % 5 + 1}: rooted {n}')[1] + two.add(f'look 26-00{n % 5 + 1}: callused {n}', '--at', '2026-06-20')[1]
        acked += one.add('stick 30 Escallonia rubra')[1] + two.add('stick 31 Escallonia rubra')[1]
        results = []
        for order in ((one, two), (two, one), (one, two, one, two), (two, two, one)):
            with Home() as third:
                third.journal.mkdir()
                for machine in order:
                    for name, data in machine.files().items():
                        place = third.journal / name
                        if place.exists() and not data.startswith(place.read_bytes()) and not place.read_bytes().startswith(data):
                            place = third.journal / (name[:-6] + '.sync-conflict.jsonl')
                        if not place.exists() or len(place.read_bytes()) < len(data):
                            place.write_bytes(data)
                results.append(answers(third))
                tally.cases += 1
                tally.audit(third.files(), acked, 'copied')
        for order in ((one, two), (two, one)):
            with Home() as third:
                third.journal.mkdir()
                texts = [b''.join(m.files().values()) for m in order]
                for n, text in enumerate((texts[0], b'', texts[1])):
                    (third.path / str(n)).write_bytes(text)
                if not shutil.which('git'):
                    tally.notes['no git: union merge left out'] += 1
                    continue
                union = subprocess.run(['git', 'merge-file', '-p', '--union', '0', '1', '2'], cwd=third.path, capture_output=True).stdout
                for twice in (union, union + union):
                    (third.journal / 'all.jsonl').write_bytes(twice)
                    results.append(answers(third))
                    tally.cases += 1
                    tally.expect(set(acked) <= set(readable(third.files())[0]), 'a union merge lost a line')
        tally.expect(all(r == results[0] for r in results), 'merged folders give different books')
        codes = [b['batch'] for b in json.loads(results[0][2])['batches'] if 'batch' in b]
        tally.expect(len(codes) == len(set(codes)), f'one code was given twice: {codes}')
    return tally


def replaced(rounds):
    """A sync tool renames copies over the file while entries are made: nothing acknowledged vanishes but what
    the copy itself left behind, so the copy is taken under the program's own lock, as a careful tool would."""
    import fcntl
    tally = Tally('own file renamed over while entries are made')
    with Home() as home:
        home.add('remark the first')
        own, lock = next(home.journal.glob('*.jsonl')), home.journal / 'struck.lock'
        going, acked = threading.Event(), []

        def rename():
            while not going.is_set():
                with open(lock, 'a') as held:
                    fcntl.flock(held, fcntl.LOCK_EX)
                    copy = home.path / 'copy'
                    copy.write_bytes(own.read_bytes())
                    os.rename(copy, own)
                time.sleep(0.002)
        other = threading.Thread(target=rename)
        other.start()
        for n in range(rounds):
            tally.cases += 1
            acked += home.add(f'remark number {n}')[1]
        going.set()
        other.join()
        tally.audit(home.files(), acked, 'renamed over')
    return tally


def stopped_holder():
    """A holder of the lock that is stopped: told within the deadline, by name, with a draft; free again once it is gone."""
    import fcntl
    tally = Tally('lock held by a stopped process')
    with Home() as home:
        _, acked, _ = home.add('remark the first')
        lock = home.journal / 'struck.lock'
        with open(lock, 'r+') as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            # Told where every user of the machine may look, and nowhere beside the journal.
            number = os.fstat(held.fileno())
            told = pathlib.Path(f'/tmp/struck-lock-{number.st_dev:x}-{number.st_ino:x}')
            told.write_text('pid 99 on barn')
            tally.cases += 1
            begun = time.time()
            code, ids, said = home.add('remark behind the lock', limit=30)
            tally.expect(code == 1 and not ids and 'pid 99 on barn' in said, f'exit {code}: {said}')
            tally.expect(time.time() - begun < 10, 'waits beyond its deadline')
            tally.expect(any('behind the lock' in d for d in home.drafts()), 'no draft')
            tally.expect(lock.read_bytes() == b'', 'the lock file was written')
            told.unlink()
        code, ids, said = home.add('remark the lock is free')
        tally.expect(code == 0, said)
        tally.audit(home.files(), acked + ids, 'stopped holder')
    return tally


def clock():
    """The clock goes back, jumps, changes zone, passes both ends of summer time: each entry stands on its written day."""
    tally = Tally('clock set back, zones, summer time')
    moments = ('2026-03-29T01:59:59+00:00', '2026-03-29T02:00:00+01:00', '2026-10-25T01:30:00+01:00', '2026-10-25T01:30:00+00:00', '2026-06-30T09:00:00+01:00',
               '2026-06-29T09:00:00+01:00', '2020-01-01T00:00:00+00:00', '2026-12-31T23:59:59-11:00', '2027-01-01T00:00:01+14:00', '1971-01-01T00:00:00+00:00', '1969-12-31T23:00:00+00:00', '1901-01-01T12:00:00+00:00')
    with Home() as home:
        acked = []
        for moment in moments:
            home.now = moment
            tally.cases += 1
            code, ids, said = home.add(f'remark at {moment}')
            unharmed_ = tally.expect(code == 0, f'{moment}: {said}')
            acked += ids
            lines = [json.loads(l) for d in home.files().values() for l in d.split(b'\n') if l]
            entry = [l for l in lines if l['id'] in ids]
            tally.expect(unharmed_ and entry[0]['at'] == moment, f'{moment} became {entry and entry[0]["at"]}')
        tally.audit(home.files(), acked, 'clock')
        home.now = '2027-06-01T00:00:00+00:00'
        tally.expect(home.run('check')[0] == 0, 'check finds fault')
    return tally


def units(full):
    # In rounds, each in a journal of its own: every `add` reads the whole journal first.
    rounds, count = (10, 1000) if full else (1, 40)
    yield from pieces('eight writers on one file', rounds, lambda *_: at_once('eight writers on one file', False, 1, count))
    yield from pieces('eight writers on eight files', rounds, lambda *_: at_once('eight writers on eight files', True, 1, count))
    yield from pieces('merged', 10 if full else 1, lambda number, _: merged(200 if full else 32, number))
    yield 'two machines', two_machines
    yield 'replaced', lambda: replaced(2000 if full else 100)
    yield 'stopped holder', stopped_holder
    yield 'clock', clock
