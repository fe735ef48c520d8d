//! The paths that a source names: what it imports, under which name, and what it writes out in full.

/// One name that a `use` line brings in.
#[derive(Clone, Debug, PartialEq)]
pub struct Import {
    /// The whole path, as written.
    pub path: Vec<String>,
    /// The name given to it in this file, if another.
    pub alias: Option<String>,
}

/// Code as words and signs, without comments, text and character literals.
pub fn tokens(code: &str) -> Vec<String> {
    let chars: Vec<char> = code.chars().collect();
    let (mut at, mut tokens) = (0, Vec::new());
    while at < chars.len() {
        let c = chars[at];
        if let Some(end) = literal_end(&chars, at) {
            at = end;
        } else if c == '/' && chars.get(at + 1) == Some(&'/') {
            at = position(&chars, at, |c| c == '\n');
        } else if is_word(c) {
            let end = position(&chars, at, |c| !is_word(c));
            tokens.push(chars[at..end].iter().collect());
            at = end;
        } else if c == ':' && chars.get(at + 1) == Some(&':') {
            tokens.push("::".into());
            at += 2;
        } else {
            if !c.is_whitespace() {
                tokens.push(c.to_string());
            }
            at += 1;
        }
    }
    tokens
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn position(chars: &[char], from: usize, wanted: impl Fn(char) -> bool) -> usize {
    (from..chars.len())
        .find(|at| wanted(chars[*at]))
        .unwrap_or(chars.len())
}

/// Where the text, raw text or character that begins here ends; none if none does.
fn literal_end(chars: &[char], at: usize) -> Option<usize> {
    let after_word = at > 0 && is_word(chars[at - 1]);
    match chars[at] {
        '"' => Some(quoted_end(chars, at + 1, '"')),
        'r' if !after_word => raw_end(chars, at),
        '\'' if chars.get(at + 1) == Some(&'\\') => Some(quoted_end(chars, at + 1, '\'')),
        '\'' if chars.get(at + 2) == Some(&'\'') => Some(at + 3),
        _ => None,
    }
}

fn quoted_end(chars: &[char], mut at: usize, quote: char) -> usize {
    while at < chars.len() && chars[at] != quote {
        at += if chars[at] == '\\' { 2 } else { 1 };
    }
    at + 1
}

fn raw_end(chars: &[char], at: usize) -> Option<usize> {
    let open = position(chars, at + 1, |c| c != '#');
    if chars.get(open) != Some(&'"') {
        return None;
    }
    let closing: Vec<char> = std::iter::once('"')
        .chain(std::iter::repeat_n('#', open - at - 1))
        .collect();
    (open + 1..chars.len())
        .find(|at| chars[*at..].starts_with(&closing))
        .map(|at| at + closing.len())
}

/// All that `use` lines bring in, and all other paths of two words and more.
pub fn named(tokens: &[String]) -> (Vec<Import>, Vec<Vec<String>>) {
    let (mut imports, mut paths, mut at) = (Vec::new(), Vec::new(), 0);
    while at < tokens.len() {
        if tokens[at] == "use" {
            let end = next(tokens, at, ";");
            tree(&tokens[at + 1..end], &[], &mut imports);
            at = end;
        } else if tokens.get(at + 1).is_some_and(|sign| sign == "::") && word(&tokens[at]) {
            let mut path = vec![tokens[at].clone()];
            while tokens.get(at + 1).is_some_and(|sign| sign == "::")
                && tokens.get(at + 2).is_some_and(|name| word(name))
            {
                path.push(tokens[at + 2].clone());
                at += 2;
            }
            paths.push(path);
        }
        at += 1;
    }
    (imports, paths)
}

fn word(token: &str) -> bool {
    token.chars().next().is_some_and(is_word)
}

fn next(tokens: &[String], from: usize, wanted: &str) -> usize {
    (from..tokens.len())
        .find(|at| tokens[*at] == wanted)
        .unwrap_or(tokens.len())
}

/// One tree of a `use` line, as `a::{b, c::{self, D as E}}`.
fn tree(tokens: &[String], before: &[String], imports: &mut Vec<Import>) {
    let open = next(tokens, 0, "{");
    let head = &tokens[..open];
    let alias = head.iter().position(|token| token == "as");
    let names = head[..alias.unwrap_or(open)]
        .iter()
        .filter(|token| *token != "::");
    let path: Vec<String> = before.iter().chain(names).cloned().collect();
    if open == tokens.len() {
        if path.last().is_some_and(|last| last == "self") && path.len() > 1 {
            return tree(&[], &path[..path.len() - 1], imports);
        }
        if !path.is_empty() {
            imports.push(Import {
                path,
                alias: alias.and_then(|at| head.get(at + 1).cloned()),
            });
        }
        return;
    }
    let (mut depth, mut start) = (0, open + 1);
    for at in open + 1..tokens.len() {
        match tokens[at].as_str() {
            "{" => depth += 1,
            "}" if depth > 0 => depth -= 1,
            "," | "}" if depth == 0 => {
                if start < at {
                    tree(&tokens[start..at], &path, imports);
                }
                start = at + 1;
            }
            _ => {}
        }
    }
}
