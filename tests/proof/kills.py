"""Kills at random moments: what was acknowledged before the kill is there once, and the journal goes on."""
import concurrent.futures, os, random, subprocess, time
from common import SAVED, STRUCK, Home, Tally, only_grew

SEED, PER_JOURNAL = 20260614, 100


def one_journal(seed, kills):
    """Kills as many runs on one journal; gives the ids acknowledged, the kills that came in time, and the files."""
    dice, acked, hits, grew = random.Random(seed), [], 0, True
    with Home() as home:
        begun = time.time()
        home.add('remark before the first kill')
        usual = time.time() - begun
        for number in range(kills):
            before = home.files()
            run = subprocess.Popen([STRUCK, 'add', f'remark number {number}'], env=home.environment(), stdout=subprocess.PIPE,
                                   stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL)
            time.sleep(dice.uniform(0.0, 1.5 * usual))
            run.kill()
            said = run.stdout.read().decode('utf-8', 'replace')
            hits += run.wait() == -9
            acked += SAVED.findall(said)
            grew = grew and only_grew(before, home.files())
        code, _, _ = home.run('check')
        again, last, words = home.add('remark after the last kill')
        return acked + last, hits, grew, home.files(), code, again, words


def run(full):
    tally = Tally('kill -9 at random moments')
    kills = 10_000 if full else 600
    with concurrent.futures.ThreadPoolExecutor(2 * os.cpu_count()) as pool:
        journals = pool.map(lambda n: one_journal(SEED + n, PER_JOURNAL), range(kills // PER_JOURNAL))
        for number, (acked, hits, grew, files, code, again, words) in enumerate(journals):
            tally.cases += PER_JOURNAL
            tally.notes['killed before they ended'] += hits
            tally.audit(files, acked, f'journal {number}')
            tally.expect(grew, f'journal {number}: bytes that stood before have changed')
            tally.expect(code == 0, f'journal {number}: check ends with {code}')
            tally.expect(again == 0, f'journal {number}: the append after the kills fails: {words}')
    yield tally
