"""Kills at random moments: what was acknowledged before the kill is there once, and the journal goes on."""
import concurrent.futures, contextlib, json, mmap, os, random, subprocess, time
from common import SAVED, STRUCK, Home, Tally, only_grew, pieces

SEED, PER_JOURNAL = 20260614, 50


def torn_between_pages(files):
    """How many pieces of lines end where a page of memory does. A kill that meets a write lets the kernel finish the page
    that it copies, and no more: a line across the edge of two is torn there, and nowhere else."""
    torn = 0
    for data in files.values():
        end = 0
        for line in data.split(b'\n'):
            end += len(line) + 1
            try:
                json.loads(line or b'0')
            except ValueError:
                torn += (end - 1) % mmap.PAGESIZE == 0
    return torn


def one_journal(seed, kills):
    """Starts runs on one journal until so many were killed before they ended; gives the ids acknowledged, the runs,
    whether what stood was left alone, and the files."""
    dice, acked, hits, runs, grew = random.Random(seed), [], 0, 0, True
    with Home() as home:
        begun = time.time()
        home.add('remark before the first kill')
        usual = time.time() - begun
        while hits < kills and runs < 20 * kills:
            before, begun, runs = home.files(), time.time(), runs + 1
            run = subprocess.Popen([STRUCK, 'add', f'remark number {runs}'], env=home.environment(), stdout=subprocess.PIPE,
                                   stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL)
            with contextlib.suppress(subprocess.TimeoutExpired):
                # One that ends by itself tells how long they take just now.
                run.wait(dice.uniform(0.0, usual))
                usual = 0.8 * usual + 0.2 * 1.2 * (time.time() - begun)
            run.kill()
            said = run.stdout.read().decode('utf-8', 'replace')
            hits += run.wait() == -9
            acked += SAVED.findall(said)
            grew = grew and only_grew(before, home.files())
        again, last, words = home.add('remark after the last kill')
        code, _, _ = home.run('check')
        return acked + last, hits, runs, grew, home.files(), code, again, words


def run(full, piece=0, count=1):
    tally = Tally('kill -9 at random moments')
    kills = (10_000 if full else 600) // count
    first = piece * kills // PER_JOURNAL
    with concurrent.futures.ThreadPoolExecutor(2 * os.cpu_count()) as pool:
        journals = pool.map(lambda n: one_journal(SEED + first + n, PER_JOURNAL), range(kills // PER_JOURNAL))
        for number, (acked, hits, runs, grew, files, code, again, words) in enumerate(journals):
            tally.cases += hits
            tally.notes['ended before the kill, not counted as a case'] += runs - hits
            tally.expect(hits == PER_JOURNAL, f'journal {number}: only {hits} of {runs} runs were killed in time')
            torn = torn_between_pages(files)
            tally.audit(files, acked, f'journal {number}', broken_allowed=torn)
            tally.expect(grew, f'journal {number}: bytes that stood before have changed')
            tally.expect(code == (3 if torn else 0), f'journal {number}: check ends with {code}, {torn} torn pieces')
            tally.expect(again == 0, f'journal {number}: the append after the kills fails: {words}')
    return tally


def units(full):
    yield from pieces('kills', 20 if full else 1, lambda number, count: run(full, number, count))
