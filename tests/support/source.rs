//! Reads source text as far as the house rules need it: what is code, what is a test, which paths it names.

use std::path::{Path, PathBuf};

/// A file of the repository, its path from the top with slashes.
#[derive(Debug, Clone)]
pub struct File {
    pub path: String,
    pub text: String,
}

impl File {
    pub fn new(path: &str, text: &str) -> File {
        File { path: path.to_owned(), text: text.to_owned() }
    }

    /// `src/link/tape.rs` is in room `link`, `src/clock.rs` in room `clock`.
    pub fn room(&self) -> &str {
        let inside = self.path.strip_prefix("src/").unwrap_or(&self.path);
        inside.split('/').next().unwrap_or(inside).trim_end_matches(".rs")
    }

    /// How many modules deep: 1 for `src/link/mod.rs`, 2 for `src/link/tape.rs`.
    pub fn depth(&self) -> usize {
        let inside = self.path.strip_prefix("src/").unwrap_or(&self.path);
        let parts = inside.split('/').count();
        if inside.ends_with("/mod.rs") { parts - 1 } else { parts }
    }

    /// The text without comments and without what stands in quotes; lines stay lines.
    pub fn code(&self) -> String {
        blank(&self.text)
    }

    /// The code without its test modules.
    pub fn working_code(&self) -> String {
        if self.path.ends_with("/tests.rs") || self.path.contains("/tests/") {
            String::new()
        } else {
            without_tests(&self.code())
        }
    }
}

pub fn top() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every file with one of the endings below a folder, in the order of their paths.
pub fn files(under: &str, endings: &[&str]) -> Vec<File> {
    let mut found = Vec::new();
    walk(&top().join(under), endings, &mut found);
    found.sort_by(|one, other| one.path.cmp(&other.path));
    found
}

fn walk(folder: &Path, endings: &[&str], found: &mut Vec<File>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            walk(&path, endings, found);
        } else if endings.iter().any(|ending| path.to_string_lossy().ends_with(ending)) {
            let name = path.strip_prefix(top()).unwrap().to_string_lossy().replace('\\', "/");
            found.push(File { path: name, text: String::from_utf8_lossy(&std::fs::read(&path).unwrap()).into_owned() });
        }
    }
}

/// The line, counted from 1, of a byte position.
pub fn line_of(text: &str, at: usize) -> usize {
    text[..at].matches('\n').count() + 1
}

/// Lines on which `word` stands as a word of its own. `word` may hold `::`.
pub fn lines_with(code: &str, word: &str) -> Vec<usize> {
    code.match_indices(word).filter(|&(at, _)| stands_alone(code, at, word.len())).map(|(at, _)| line_of(code, at)).collect()
}

/// The first names after `root::`, those in braces too: `use crate::{a::X, b}` names `a` and `b`.
pub fn names_under(code: &str, root: &str) -> Vec<(usize, String)> {
    let mark = format!("{root}::");
    let mut names = Vec::new();
    for (at, _) in code.match_indices(&mark) {
        if !code[..at].chars().next_back().is_none_or(|before| !part_of_word(before) && before != ':') {
            continue;
        }
        let rest = code[at + mark.len()..].trim_start();
        let line = line_of(code, at);
        match rest.strip_prefix('{') {
            Some(group) => names.extend(heads(group).into_iter().map(|name| (line, name))),
            None => names.push((line, leading_word(rest))),
        }
    }
    names.retain(|(_, name)| !name.is_empty());
    names
}

/// Chains of `super::`: the line and how many there are in a row.
pub fn climbs(code: &str) -> Vec<(usize, usize)> {
    const STEP: &str = "super::";
    let (mut found, mut from) = (Vec::new(), 0);
    while let Some(at) = code[from..].find(STEP).map(|at| at + from) {
        let rest = &code[at..];
        let chain = rest.len() - rest.trim_start_matches(STEP).len();
        found.push((line_of(code, at), chain / STEP.len()));
        from = at + chain;
    }
    found
}

/// The first word of each item of a brace group, up to its closing brace.
fn heads(group: &str) -> Vec<String> {
    let (mut depth, mut start, mut names) = (0_usize, 0, Vec::new());
    for (at, character) in group.char_indices() {
        match character {
            '{' => depth += 1,
            '}' if depth > 0 => depth -= 1,
            ',' if depth == 0 => {
                names.push(leading_word(group[start..at].trim_start()));
                start = at + 1;
            }
            '}' => {
                names.push(leading_word(group[start..at].trim_start()));
                break;
            }
            _ => {}
        }
    }
    names
}

fn leading_word(text: &str) -> String {
    text.chars().take_while(|&character| part_of_word(character)).collect()
}

fn part_of_word(character: char) -> bool {
    character.is_alphanumeric() || character == '_'
}

fn stands_alone(code: &str, at: usize, length: usize) -> bool {
    let before = code[..at].chars().next_back();
    let after = code[at + length..].chars().next();
    !before.is_some_and(part_of_word) && !after.is_some_and(part_of_word)
}

fn without_tests(code: &str) -> String {
    let mut kept = code.to_owned();
    let mut from = 0;
    while let Some(at) = kept[from..].find("#[cfg(test)]").map(|at| at + from) {
        let after = kept[at + "#[cfg(test)]".len()..].trim_start();
        let open = kept[at..].find('{').map(|open| open + at);
        let (true, Some(open)) = (after.starts_with("mod "), open) else {
            from = at + 1;
            continue;
        };
        let mut depth = 0_usize;
        let close = kept[open..].char_indices().find_map(|(offset, character)| {
            match character {
                '{' => depth += 1,
                '}' => depth -= 1,
                _ => {}
            }
            (depth == 0).then_some(open + offset + 1)
        });
        let close = close.unwrap_or(kept.len());
        let lines: String = kept[at..close].chars().filter(|&character| character == '\n').collect();
        kept.replace_range(at..close, &lines);
        from = at;
    }
    kept
}

/// Comments and the insides of string and character literals become blanks.
fn blank(text: &str) -> String {
    let source: Vec<char> = text.chars().collect();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while at < source.len() {
        let end = literal_or_comment(&source, at);
        if end == at {
            out.push(source[at]);
            at += 1;
            continue;
        }
        out.extend(source[at..end].iter().map(|&character| if character == '\n' { '\n' } else { ' ' }));
        at = end;
    }
    out
}

/// Where the literal or comment that begins at `at` ends; `at` itself if none begins there.
fn literal_or_comment(source: &[char], at: usize) -> usize {
    let next = |offset: usize| source.get(at + offset).copied().unwrap_or('\0');
    let until = |from: usize, wanted: &[char]| {
        source[from..]
            .windows(wanted.len())
            .position(|window| window == wanted)
            .map_or(source.len(), |found| from + found + wanted.len())
    };
    match (source[at], next(1)) {
        ('/', '/') => until(at, &['\n']).saturating_sub(1).max(at + 2),
        ('/', '*') => until(at + 2, &['*', '/']),
        ('r', '"' | '#') if at == 0 || !part_of_word(source[at - 1]) || source[at - 1] == 'b' => {
            let hashes = source[at + 1..].iter().take_while(|&&character| character == '#').count();
            if next(1 + hashes) != '"' {
                return at;
            }
            let mut close = vec!['"'];
            close.extend(std::iter::repeat_n('#', hashes));
            until(at + 2 + hashes, &close)
        }
        ('"', _) => {
            let mut end = at + 1;
            while end < source.len() && source[end] != '"' {
                end += if source[end] == '\\' { 2 } else { 1 };
            }
            (end + 1).min(source.len())
        }
        ('\'', '\\') => until(at + 3, &['\'']),
        ('\'', _) if next(2) == '\'' => at + 3,
        _ => at,
    }
}
