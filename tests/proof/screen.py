"""A very small terminal: keeps the letters of a screen from what the program sends. It knows the few orders that
the program uses, and calls any other by name."""
import re

ORDER = re.compile(rb'\x1b\[([?>=]?)([0-9;]*)([A-Za-z])|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1b[()][A-Z0-9]|\x1b[=>78M]')


class Screen:
    def __init__(self, columns=80, rows=24):
        self.columns, self.rows = columns, rows
        self.cells = [[' '] * columns for _ in range(rows)]
        self.row = self.column = 0
        self.rest, self.strange = b'', []

    def feed(self, data):
        data, at = self.rest + data, 0
        self.rest = b''
        while at < len(data):
            if data[at] == 0x1b:
                found = ORDER.match(data, at)
                if not found:
                    if len(data) - at < 32:
                        self.rest = data[at:]
                        return
                    self.strange.append(data[at:at + 8])
                    at += 1
                    continue
                self.order(found)
                at = found.end()
            elif data[at] < 0x20:
                self.control(data[at])
                at += 1
            else:
                end = at + 1
                while end < len(data) and data[end] & 0xC0 == 0x80:
                    end += 1
                if end == len(data) and data[at] >= 0xC0 and end - at < 4:
                    self.rest = data[at:]
                    return
                self.put(data[at:end].decode('utf-8', 'replace'))
                at = end

    def order(self, found):
        letter = (found[3] or b'').decode()
        numbers = [int(n) for n in (found[2] or b'').split(b';') if n]
        first = numbers[0] if numbers else 1
        if letter in 'Hf':
            self.row, self.column = first - 1, (numbers[1] if len(numbers) > 1 else 1) - 1
        elif letter == 'J' or letter == 'K':
            rows = range(self.rows) if letter == 'J' and numbers == [2] else [self.row]
            for row in rows:
                start = 0 if letter == 'J' and numbers == [2] or numbers == [2] else self.column
                if 0 <= row < self.rows:
                    self.cells[row][start:] = [' '] * (self.columns - start)
            if letter == 'J' and numbers != [2]:
                for row in range(self.row + 1, self.rows):
                    self.cells[row] = [' '] * self.columns
        elif letter == 'X':
            if 0 <= self.row < self.rows:
                end = min(self.column + first, self.columns)
                self.cells[self.row][self.column:end] = [' '] * (end - self.column)
        elif letter == 'A':
            self.row -= first
        elif letter == 'B':
            self.row += first
        elif letter == 'C':
            self.column += first
        elif letter == 'D':
            self.column -= first
        elif letter not in 'mhlrt':
            self.strange.append(found[0])

    def control(self, byte):
        if byte == 0x0d:
            self.column = 0
        elif byte == 0x0a:
            self.row += 1
        elif byte == 0x08:
            self.column -= 1
        else:
            self.strange.append(bytes([byte]))

    def put(self, letter):
        if 0 <= self.row < self.rows and 0 <= self.column < self.columns:
            self.cells[self.row][self.column] = letter
        self.column += 1

    def text(self):
        return '\n'.join(''.join(row).rstrip() for row in self.cells)
