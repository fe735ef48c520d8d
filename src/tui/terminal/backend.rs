//! A frugal terminal writer: sends only what differs from what the terminal already shows, pen and
//! cursor included. It decides nothing about what is shown and asks the terminal nothing.

use ratatui::backend::{Backend, ClearType, WindowSize};
use ratatui::buffer::Cell;
use ratatui::layout::{Position, Size};
use ratatui::style::{Color, Modifier};
use std::collections::BTreeSet;
use std::io::{self, Write};
use unicode_width::UnicodeWidthStr;

/// How the terminal draws what it is sent next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Pen {
    ink: Color,
    ground: Color,
    marks: Modifier,
}

impl Pen {
    const PLAIN: Self = Self {
        ink: Color::Reset,
        ground: Color::Reset,
        marks: Modifier::empty(),
    };

    fn of(cell: &Cell) -> Self {
        Self {
            ink: cell.fg,
            ground: cell.bg,
            marks: cell.modifier,
        }
    }
}

/// The writer, over anything that takes bytes.
#[derive(Debug)]
pub struct LeanBackend<W: Write> {
    out: W,
    pending: Vec<u8>,
    size: Size,
    pen: Pen,
    /// Where the terminal's cursor is, when known.
    at: Option<Position>,
    /// Where it should rest after the frame, and whether it is to be seen.
    rest: Option<Position>,
    shown: bool,
    /// Where two-column characters stand: a terminal that loses half of one fills the other half
    /// with the pen of the moment.
    wide: BTreeSet<(u16, u16)>,
    /// Which cells are known to be blank, row by row.
    blank: Vec<bool>,
    /// Cells to be blanked, not yet sent.
    gone: Option<Gone>,
}

/// Cells of a row to be blanked: from the first column up to, not with, the second.
#[derive(Clone, Copy, Debug)]
struct Gone {
    row: u16,
    from: u16,
    to: u16,
}

/// So many cells and more are blanked by one sequence (ECMA-48, erase character); fewer by spaces.
const ERASED: u16 = 6;

impl<W: Write> LeanBackend<W> {
    /// A writer for a screen of that size, fresh: cleared, plain pen, cursor seen.
    pub fn new(out: W, size: Size) -> Self {
        Self {
            out,
            pending: Vec::new(),
            size,
            pen: Pen::PLAIN,
            at: None,
            rest: None,
            shown: true,
            wide: BTreeSet::new(),
            blank: vec![true; cells(size)],
            gone: None,
        }
    }

    /// Takes note of the screen's size, in cells.
    pub fn set_size(&mut self, size: Size) {
        self.size = size;
        self.at = None;
        self.blank = vec![false; cells(size)];
    }

    /// Forgets what the terminal shows: after another program had it.
    pub fn forget(&mut self) {
        self.at = None;
        self.blank.fill(false);
        self.shown = true;
        self.pen = Pen::PLAIN;
        self.pending.extend_from_slice(b"\x1b[0m");
    }

    fn put(&mut self, text: &str) {
        self.pending.extend_from_slice(text.as_bytes());
    }

    fn cell(&mut self, x: u16, y: u16) -> Option<&mut bool> {
        let at = usize::from(y) * usize::from(self.size.width) + usize::from(x);
        self.blank.get_mut(at).filter(|_| x < self.size.width)
    }

    /// Takes note that a cell is to be blank: with those before it if only blank ones lie between.
    fn blanks(&mut self, x: u16, y: u16) {
        let joins = self.gone.filter(|gone| gone.row == y && gone.to <= x);
        let joins =
            joins.filter(|gone| (gone.to..x).all(|at| self.cell(at, y).is_some_and(|it| *it)));
        match joins {
            Some(gone) => self.gone = Some(Gone { to: x + 1, ..gone }),
            None => {
                self.blank_out();
                let to = x.saturating_add(1);
                self.gone = Some(Gone {
                    row: y,
                    from: x,
                    to,
                });
            }
        }
        if let Some(cell) = self.cell(x, y) {
            *cell = true;
        }
    }

    /// Sends what is to be blanked.
    fn blank_out(&mut self) {
        let Some(Gone { row, from, to }) = self.gone.take() else {
            return;
        };
        self.move_to(Position { x: from, y: row });
        self.take(Pen::PLAIN);
        let count = to - from;
        if count >= ERASED {
            // It leaves the cursor where it is.
            self.put(&format!("\x1b[{count}X"));
        } else {
            self.put(&" ".repeat(usize::from(count)));
            self.at = (to < self.size.width).then_some(Position { x: to, y: row });
        }
    }

    /// Moves the cursor in the fewest bytes known.
    fn move_to(&mut self, to: Position) {
        if self.at == Some(to) {
            return;
        }
        let (row, column) = (to.y.saturating_add(1), to.x.saturating_add(1));
        let step = match self.at {
            Some(at) if at.y == to.y && to.x == 0 => "\r".to_owned(),
            Some(at) if at.y == to.y && to.x > at.x => steps(to.x - at.x, 'C'),
            Some(at) if at.y == to.y => steps(at.x - to.x, 'D'),
            Some(at) if at.x == to.x && to.y > at.y => steps(to.y - at.y, 'B'),
            Some(at) if at.x == to.x => steps(at.y - to.y, 'A'),
            _ if column == 1 && row == 1 => "\x1b[H".to_owned(),
            _ if column == 1 => format!("\x1b[{row}H"),
            _ => format!("\x1b[{row};{column}H"),
        };
        self.put(&step);
        self.at = Some(to);
    }

    /// Changes the pen by one sequence, and only by what differs.
    fn take(&mut self, pen: Pen) {
        if pen == self.pen {
            return;
        }
        let mut codes = Vec::new();
        let lost = self.pen.marks - pen.marks;
        let mut from = self.pen;
        if pen == Pen::PLAIN || !lost.is_empty() {
            codes.push(String::new());
            from = Pen::PLAIN;
        }
        for (mark, code) in MARKS {
            if pen.marks.contains(*mark) && !from.marks.contains(*mark) {
                codes.push((*code).to_string());
            }
        }
        if pen.ink != from.ink {
            codes.push(colour(pen.ink, 30));
        }
        if pen.ground != from.ground {
            codes.push(colour(pen.ground, 40));
        }
        let text = format!("\x1b[{}m", codes.join(";"));
        self.put(&text);
        self.pen = pen;
    }
}

/// How many cells a screen has.
fn cells(size: Size) -> usize {
    usize::from(size.width) * usize::from(size.height)
}

/// Cursor moves along one axis; one step needs no number.
fn steps(count: u16, letter: char) -> String {
    match count {
        1 => format!("\x1b[{letter}"),
        n => format!("\x1b[{n}{letter}"),
    }
}

/// Modifiers and their codes (ECMA-48, select graphic rendition).
const MARKS: &[(Modifier, u8)] = &[
    (Modifier::BOLD, 1),
    (Modifier::DIM, 2),
    (Modifier::ITALIC, 3),
    (Modifier::UNDERLINED, 4),
    (Modifier::REVERSED, 7),
    (Modifier::CROSSED_OUT, 9),
];

/// The code of a colour (ECMA-48; 90–97 by wide custom; 38;5 and 38;2 by ISO 8613-6).
fn colour(colour: Color, base: u8) -> String {
    let plain = |n: u8| (base + n).to_string();
    let bright = |n: u8| (base + 60 + n).to_string();
    match colour {
        Color::Reset => plain(9),
        Color::Black => plain(0),
        Color::Red => plain(1),
        Color::Green => plain(2),
        Color::Yellow => plain(3),
        Color::Blue => plain(4),
        Color::Magenta => plain(5),
        Color::Cyan => plain(6),
        Color::Gray => plain(7),
        Color::DarkGray => bright(0),
        Color::LightRed => bright(1),
        Color::LightGreen => bright(2),
        Color::LightYellow => bright(3),
        Color::LightBlue => bright(4),
        Color::LightMagenta => bright(5),
        Color::LightCyan => bright(6),
        Color::White => bright(7),
        Color::Indexed(n) => format!("{};5;{n}", base + 8),
        Color::Rgb(r, g, b) => format!("{};2;{r};{g};{b}", base + 8),
    }
}

impl<W: Write> Backend for LeanBackend<W> {
    type Error = io::Error;

    fn draw<'a, I>(&mut self, content: I) -> io::Result<()>
    where
        I: Iterator<Item = (u16, u16, &'a Cell)>,
    {
        for (x, y, cell) in content {
            let symbol = cell.symbol();
            let columns = symbol.width() as u16;
            for begun in x..x.saturating_add(columns) {
                if self.wide.remove(&(begun, y)) && (begun > x || columns < 2) {
                    self.blank_out();
                    self.move_to(Position { x: begun, y });
                    self.take(Pen::PLAIN);
                    self.put("  ");
                    self.at = None;
                }
            }
            if symbol == " " && Pen::of(cell) == Pen::PLAIN {
                self.blanks(x, y);
                continue;
            }
            self.blank_out();
            self.move_to(Position { x, y });
            for filled in x..x.saturating_add(columns) {
                if let Some(cell) = self.cell(filled, y) {
                    *cell = false;
                }
            }
            if columns > 1 {
                self.wide.insert((x, y));
            }
            self.take(Pen::of(cell));
            self.put(symbol);
            let after = x.saturating_add(columns);
            // At the right edge terminals differ on where the cursor is: then it is not known.
            self.at = (after < self.size.width).then_some(Position { x: after, y });
        }
        self.blank_out();
        Ok(())
    }

    fn hide_cursor(&mut self) -> io::Result<()> {
        self.rest = None;
        if self.shown {
            self.shown = false;
            self.put("\x1b[?25l");
        }
        Ok(())
    }

    fn show_cursor(&mut self) -> io::Result<()> {
        if !self.shown {
            self.shown = true;
            self.put("\x1b[?25h");
        }
        Ok(())
    }

    fn get_cursor_position(&mut self) -> io::Result<Position> {
        Ok(self.rest.or(self.at).unwrap_or_default())
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> io::Result<()> {
        let position = position.into();
        self.rest = Some(position);
        self.move_to(position);
        Ok(())
    }

    fn clear(&mut self) -> io::Result<()> {
        self.clear_region(ClearType::All)
    }

    fn clear_region(&mut self, clear_type: ClearType) -> io::Result<()> {
        self.take(Pen::PLAIN);
        self.wide.clear();
        self.blank.fill(clear_type == ClearType::All);
        self.put(match clear_type {
            ClearType::All => "\x1b[2J",
            ClearType::AfterCursor => "\x1b[J",
            ClearType::BeforeCursor => "\x1b[1J",
            ClearType::CurrentLine => "\x1b[2K",
            ClearType::UntilNewLine => "\x1b[K",
        });
        Ok(())
    }

    fn size(&self) -> io::Result<Size> {
        Ok(self.size)
    }

    fn window_size(&mut self) -> io::Result<WindowSize> {
        Ok(WindowSize {
            columns_rows: self.size,
            pixels: Size::default(),
        })
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.pending.is_empty() {
            return Ok(());
        }
        let sent = self.out.write_all(&self.pending);
        self.pending.clear();
        sent?;
        self.out.flush()
    }
}
