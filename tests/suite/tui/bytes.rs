//! What the writer sends: no more than what changed, and right at every terminal. The reading side is vt100, a parser of its own.

use crate::support::ByteCount;
use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::backend::Backend;
use ratatui::buffer::Buffer;
use ratatui::layout::{Rect, Size};
use ratatui::style::{Color, Modifier, Style};
use struck::tui::terminal::LeanBackend;

const SIZE: Size = Size {
    width: 30,
    height: 6,
};

/// A terminal, and how many bytes it was sent.
type Counted = (Terminal<LeanBackend<ByteCount>>, ByteCount);

fn terminal() -> Counted {
    let count = ByteCount::default();
    let backend = LeanBackend::new(count.clone(), SIZE);
    (Terminal::new(backend).unwrap(), count)
}

/// Bytes sent by one frame.
fn sent(
    (terminal, count): &mut Counted,
    draw: impl Fn(&mut Buffer),
    at: Option<(u16, u16)>,
) -> u64 {
    let before = count.total();
    terminal
        .draw(|frame| {
            draw(frame.buffer_mut());
            if let Some(at) = at {
                frame.set_cursor_position(at);
            }
        })
        .unwrap();
    count.total() - before
}

#[test]
fn an_unchanged_frame_sends_nothing() {
    let mut terminal = terminal();
    let draw = |buffer: &mut Buffer| {
        buffer.set_string(2, 1, "bench A", Style::new().fg(Color::Cyan));
    };
    assert!(sent(&mut terminal, draw, Some((3, 1))) > 0);
    assert_eq!(sent(&mut terminal, draw, Some((3, 1))), 0);
}

#[test]
fn a_typed_letter_sends_the_letter_alone() {
    let mut terminal = terminal();
    sent(
        &mut terminal,
        |b| {
            b.set_string(0, 2, "lav", Style::new());
        },
        Some((3, 2)),
    );
    let bytes = sent(
        &mut terminal,
        |b| {
            b.set_string(0, 2, "lave", Style::new());
        },
        Some((4, 2)),
    );
    assert_eq!(bytes, 1);
}

#[test]
fn a_moved_marker_sends_two_cells() {
    let mut terminal = terminal();
    sent(
        &mut terminal,
        |b| {
            b.set_string(0, 1, ">", Style::new());
        },
        None,
    );
    let bytes = sent(
        &mut terminal,
        |b| {
            b.set_string(0, 3, ">", Style::new());
        },
        None,
    );
    assert!(bytes <= 20, "{bytes} bytes");
}

fn cells() -> impl Strategy<Value = Vec<(u16, u16, char, usize)>> {
    let sign = prop::sample::select(vec!['a', 'z', '>', '·', 'é', '植']);
    // Two columns a sign: no screen writes into the second half of a wide one, where nothing could show.
    let column = (0..14u16).prop_map(|pair| 2 * pair);
    prop::collection::vec((column, 0..6u16, sign, 0..STYLES.len()), 0..60)
}

const STYLES: &[Style] = &[
    Style::new(),
    Style::new().fg(Color::Red),
    Style::new().fg(Color::Cyan).bg(Color::White),
    Style::new().add_modifier(Modifier::BOLD),
    Style::new()
        .fg(Color::Green)
        .add_modifier(Modifier::REVERSED),
];

proptest! {
    /// Whatever frames follow each other, the terminal shows the last one.
    #[test]
    fn the_terminal_shows_the_last_frame(frames in prop::collection::vec(cells(), 1..5)) {
        let mut kept = Vec::new();
        {
            let mut terminal = Terminal::new(LeanBackend::new(&mut kept, SIZE)).unwrap();
            for frame in &frames {
                terminal.draw(|f| {
                    for (x, y, sign, style) in frame {
                        f.buffer_mut().set_string(*x, *y, sign.to_string(), STYLES[*style]);
                    }
                }).unwrap();
            }
            terminal.backend_mut().flush().unwrap();
        }
        let mut shown = vt100::Parser::new(
            SIZE.height.try_into().unwrap(),
            SIZE.width.try_into().unwrap(),
            0,
        );
        shown.process(&kept);
        let mut wanted = Buffer::empty(Rect::new(0, 0, SIZE.width, SIZE.height));
        for (x, y, sign, style) in frames.last().unwrap() {
            wanted.set_string(*x, *y, sign.to_string(), STYLES[*style]);
        }
        for y in 0..SIZE.height {
            for x in 0..SIZE.width {
                let cell = shown.screen().cell(y, x).unwrap();
                if cell.is_wide_continuation() {
                    continue;
                }
                let want = &wanted[(x, y)];
                let got = if cell.contents().is_empty() { " " } else { cell.contents() };
                prop_assert_eq!(got, want.symbol(), "at {},{}", x, y);
                prop_assert_eq!(cell.bold(), want.modifier.contains(Modifier::BOLD));
                prop_assert_eq!(cell.inverse(), want.modifier.contains(Modifier::REVERSED));
                prop_assert_eq!(cell.fgcolor(), vt_colour(want.fg));
                prop_assert_eq!(cell.bgcolor(), vt_colour(want.bg));
            }
        }
    }
}

fn vt_colour(colour: Color) -> vt100::Color {
    match colour {
        Color::Red => vt100::Color::Idx(1),
        Color::Green => vt100::Color::Idx(2),
        Color::Cyan => vt100::Color::Idx(6),
        Color::White => vt100::Color::Idx(15),
        _ => vt100::Color::Default,
    }
}
