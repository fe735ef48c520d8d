"""Lines that mean harm, at a size that only a real run can have: told in words, in bounded memory, and the rest of
the journal works."""
import subprocess, sys
from common import STRUCK, Home, Tally, unharmed

# Beyond what a small journal takes: two lines of the longest read (16 MiB), their parts, and the program itself.
MEMORY = 160 << 20
GIGABYTE = 1 << 30


# Run by a small process of its own: what a child may seem to have held includes what its parent did.
RUNNER = 'import os,subprocess,sys;r=subprocess.Popen(sys.argv[1:],stdin=0);_,s,u=os.wait4(r.pid,0);print(os.waitstatus_to_exitcode(s),u.ru_maxrss,file=open(3,"w"))'


def peak(home, *arguments):
    """Exit code, output, errors and the most memory that was held, in bytes."""
    into, told = home.path / 'out', home.path / 'told'
    with open(into, 'wb') as out, open(home.path / 'err', 'wb') as err:
        subprocess.run(['bash', '-c', 'exec 3>"$1"; shift; exec "$@"', '-', str(told), sys.executable, '-c', RUNNER, STRUCK, *arguments],
                       env=home.environment(), stdout=out, stderr=err, stdin=subprocess.DEVNULL)
    code, held = map(int, told.read_text().split())
    return code, into.read_bytes(), (home.path / 'err').read_bytes(), held * 1024


def sparse(path, head, size, tail=b'\n'):
    with open(path, 'wb') as file:
        file.write(head)
        file.seek(size)
        file.write(tail)


def texts(full):
    """What, and the bytes of a line."""
    deep = 200_000
    return {
        'nested objects': b'{"id":"A","at":"2026-06-01","kind":"remark","note":"x","more":' + b'{"a":' * deep + b'1' + b'}' * deep + b'}',
        'nested lists': b'[' * (4 << 20),
        'a key a million times': b'{' + b'"kind":"look",' * 1_000_000 + b'"id":"A"}',
        'a million keys': b'{' + b','.join(b'"k%d":1' % n for n in range(700_000)) + b'}',
        'a number of a million digits': b'{"id":"A","at":"2026-06-01","kind":"stick","batch":"26-009","taxon":"Cistus","stuck":' + b'9' * 1_000_000 + b'}',
        'an exponent beyond all': b'{"id":"A","at":"2026-06-01","kind":"climate","place":"x","air_c":1e' + b'9' * 1000 + b'}',
        'a text of 15 MiB': b'{"id":"A","at":"2026-06-01","kind":"remark","note":"' + b'a' * (15 << 20) + b'"}',
        'escapes to the brim': b'{"id":"A","at":"2026-06-01","kind":"remark","note":"' + b'\\u0301' * (2 << 20) + b'"}',
        'halves of letters': b'{"id":"A","at":"2026-06-01","kind":"remark","note":"\\ud800\\ud800"}',
        'no UTF-8': b'\xff\xfe' * 1_000_000,
        'zero bytes': bytes(8 << 20),
        'byte-order marks': b'\xef\xbb\xbf' * 1000 + b'{}',
        'returns': b'\r' * 1_000_000,
        'quotes': b'"' * 1_000_000,
        'names to the brim': b'{' + b','.join(b'"%x":1' % n for n in range(1 << 20, (1 << 20) + 1_600_000)) + b'}',
        'numbers to the brim': b'{"id":"A","at":"2026-06-01","kind":"taxon","taxon":"Cistus","aliases":[' + b'1,' * ((8 << 20) - 200) + b'1]}',
        'objects within objects': b'{"id":"A","at":"2026-06-01","kind":"amend","of":"B","set":{' + b','.join(b'"k%d":{"a":{"b":1}}' % n for n in range(500_000)) + b'}}',
        'an amend of half a million fields': b'{"id":"A","at":"2026-06-01","kind":"amend","of":"B","set":{' + b','.join(b'"k%d":null' % n for n in range(500_000)) + b'}}',
    }


def lines(full):
    tally, most = Tally('lines that mean harm: words, bounded memory'), 0
    for what, bad in texts(full).items():
        tally.cases += 1
        with Home() as home:
            _, acked, _ = home.add('remark before')
            (home.journal / 'a.jsonl').write_bytes(bad + b'\n')
            for command in (('check', '--explain'), ('check', '--json'), ('timeline', '--json'), ('batches',)):
                code, out, err, held = peak(home, *command)
                most = max(most, held)
                unharmed(tally, code, out[-2000:] + err[-2000:], f'{what}, {command}')
                tally.expect(code in (0, 3), f'{what}, {command}: exit {code}: {err[-300:]}')
                tally.expect(held < MEMORY, f'{what}, {command}: {held >> 20} MiB held')
                tally.expect(len(out) < 1 << 20, f'{what}, {command}: {len(out)} bytes said')
            code, ids, said = home.add('remark after')
            tally.expect(code == 0, f'{what}: the next append fails: {said[-300:]}')
            tally.audit({n: d for n, d in home.files().items() if n != 'a.jsonl'}, acked + ids, what)
    tally.notes['MiB held at most'] = most >> 20
    return tally


def huge(full):
    """A line of a gigabyte (of holes, so that no disk is filled), in a journal and in a logger's table."""
    tally, most = Tally('lines of a gigabyte'), 0
    with Home() as home:
        _, acked, _ = home.add('remark before')
        sparse(home.journal / 'a.jsonl', b'{"id":"A","note":"', GIGABYTE)
        tally.cases += 1
        for command in (('check', '--explain'), ('timeline', '--json')):
            code, out, err, held = peak(home, *command)
            most = max(most, held)
            tally.expect(code in (0, 3) and held < MEMORY, f'{command}: exit {code}, {held >> 20} MiB held: {err[-300:]}')
            tally.expect(command[0] != 'check' or b'too-long' in out, f'{command}: does not name it: {out[-300:]}')
        code, ids, said = home.add('remark after', limit=120)
        tally.expect(code == 0, f'the next append fails: {said}')
        tally.audit({n: d for n, d in home.files().items() if n != 'a.jsonl'}, acked + ids, 'gigabyte')
    with Home() as home:
        home.add('remark before')
        sound = b'time,air C\n' + b''.join(b'2026-06-%02d %02d:%02d,20.5\n' % (1 + n // 1440, n // 60 % 24, n % 60) for n in range(9000))
        for head in (sound + b'2026-06-20 09:00,', sound + b'2026-06-20 09:00,"', sound[:40], b''):
            tally.cases += 1
            table = home.path / 'log.csv'
            sparse(table, head, GIGABYTE)
            code, out, err, held = peak(home, 'climate', 'import', str(table), '--place', 'bench A')
            most = max(most, held)
            unharmed(tally, code, out[-2000:] + err[-2000:], f'a table of {len(head)} sound bytes')
            tally.expect(held < MEMORY, f'a table of {len(head)} sound bytes: {held >> 20} MiB held, exit {code}')
    tally.notes['MiB held at most'] = most >> 20
    return tally


def arguments(full):
    """Arguments at the system's limit, and the longest note that is written."""
    tally = Tally('arguments and notes at their limits')
    for size in (1000, 100_000, 131_000):
        tally.cases += 1
        with Home() as home:
            code, ids, said = home.add('remark ' + 'x' * size)
            unharmed(tally, code, said[-500:], f'a note of {size}')
            tally.expect(bool(ids) == (code == 0), f'a note of {size}: exit {code}')
            tally.audit(home.files(), ids, f'a note of {size}')
    return tally


def units(full):
    yield 'lines', lambda: lines(full)
    yield 'huge', lambda: huge(full)
    yield 'arguments', lambda: arguments(full)
