#!/usr/bin/env python3
"""Every library that struck is built from bears a licence that may go with it, and comes from the registry.

    tests/licences.py        exit 1 and a sentence for each that does not

It reads `cargo metadata` of this platform, by the standard library alone. It knows no advisories: see DEVELOPERS.md.
"""
import json, pathlib, re, subprocess, sys

# SPDX identifiers (spdx.org/licenses): permissive, or copyleft by the file alone.
ALLOWED = {'MIT', 'MIT-0', 'Apache-2.0', 'Apache-2.0 WITH LLVM-exception', 'BSD-1-Clause', 'BSD-2-Clause', 'BSD-3-Clause', 'ISC', 'Zlib', '0BSD', 'CC0-1.0',
           'Unicode-3.0', 'Unicode-DFS-2016', 'BSL-1.0', 'Unlicense', 'WTFPL', 'MPL-2.0'}
REGISTRY = 'registry+https://github.com/rust-lang/crates.io-index'


def allowed(expression):
    """Whether one of the choices that an SPDX expression (annex D of SPDX 2.3) leaves is allowed as a whole."""
    words = re.findall(r'\(|\)|[^\s()]+', expression.replace('/', ' OR '))
    value, rest = either(words)
    return value and not rest


def either(words):
    value, rest = both(words)
    while rest and rest[0] == 'OR':
        other, rest = both(rest[1:])
        value = value or other
    return value, rest


def both(words):
    value, rest = one(words)
    while rest and rest[0] == 'AND':
        other, rest = one(rest[1:])
        value = value and other
    return value, rest


def one(words):
    if not words:
        return False, []
    if words[0] == '(':
        value, rest = either(words[1:])
        return value and rest[:1] == [')'], rest[1:]
    name, rest = words[0], words[1:]
    if rest[:1] == ['WITH']:
        name, rest = f'{name} WITH {rest[1]}', rest[2:]
    return name in ALLOWED, rest


def main():
    assert allowed('MIT OR GPL-3.0') and allowed('(MIT OR Apache-2.0) AND Unicode-3.0') and allowed('MIT/Apache-2.0')
    assert not allowed('GPL-3.0') and not allowed('MIT AND GPL-3.0') and not allowed('') and not allowed('(MIT')
    root = pathlib.Path(__file__).resolve().parents[1]
    command = ['cargo', 'metadata', '--format-version', '1', '--locked', '--filter-platform', 'x86_64-unknown-linux-gnu']
    packages = json.loads(subprocess.run(command, cwd=root, check=True, stdout=subprocess.PIPE).stdout)['packages']
    wrong = [f'{p["name"]} {p["version"]}: licence {p["license"]!r} is not on the list' for p in packages if not allowed(p['license'] or '')]
    wrong += [f'{p["name"]} {p["version"]} comes from {p["source"]}' for p in packages if p['source'] not in (None, REGISTRY)]
    print('\n'.join(wrong) if wrong else f'{len(packages)} packages, all licences on the list')
    sys.exit(bool(wrong))


if __name__ == '__main__':
    main()
