"""The long tests of the suite, in pieces: at full size only. Built by cargo with the release's optimisations."""
import functools, json, os, re, subprocess
from common import ROOT, Tally, pieces

# A test, the row that it makes, how many pieces it comes in, and how many seeds a piece has (none: it takes no seeds).
TESTS = (
    ('journal::sessions::a_hundred_thousand_power_cuts', 'sittings with power cuts, in memory', 17, 1000),
    ('tui::sittings::a_thousand_sittings', 'sittings by lot on the screens', 10, 100),
    ('journal::damage::two_thousand_lines_cut_and_turned_at_every_byte', '2 000 lines cut and turned at every byte', 1, None),
    ('terminal::decoding::a_million_sequences_are_their_keys', 'key sequences by lot', 1, None),
)


@functools.cache
def program():
    """The suite's own program, built first."""
    built = subprocess.run(['cargo', 'test', '--release', '--test', 'suite', '--no-run', '--message-format=json'], cwd=ROOT, capture_output=True, text=True)
    made = [json.loads(line) for line in built.stdout.splitlines() if line.startswith('{')]
    found = [m['executable'] for m in made if m.get('executable') and m.get('target', {}).get('name') == 'suite']
    return (found[0] if found else None), built.stderr[-600:]


def one(test, row, seeds, number, _):
    tally = Tally(row)
    suite, why = program()
    if suite is None:
        tally.fault(f'the suite is not built: {why}')
        return tally
    more = {'STRUCK_PROOF_SEEDS': f'{number * seeds}:{seeds}'} if seeds else {}
    done = subprocess.run([suite, '--exact', test, '--ignored', '--nocapture'], cwd=ROOT, capture_output=True, text=True, env=dict(os.environ, **more))
    said = done.stdout + done.stderr
    tally.expect(done.returncode == 0 and '1 passed' in said, f'{test}: {said[-600:]}')
    counted = re.search(r'PROOF (\d+) cases(?:, (\d+) acknowledged, each there once)?', said)
    if tally.expect(counted, f'{test} says no counts: {said[-300:]}'):
        tally.cases += int(counted[1])
        tally.acked += int(counted[2] or 0)
        tally.kept += int(counted[2] or 0)
    return tally


def units(full):
    for test, row, count, seeds in TESTS if full else ():
        yield from pieces(row, count, functools.partial(one, test, row, seeds))
