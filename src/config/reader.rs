//! Reading a table key by key, and collecting every fault with its line.

use std::collections::BTreeSet;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One fault of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Counted from 1; 0 where the fault is that something is missing altogether.
    pub line: usize,
    pub key: String,
    /// What is wrong and what to do.
    pub what: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self.line, self.key.as_str()) {
            (0, key) => write!(f, "{key}: {}", self.what),
            (line, "") => write!(f, "line {line}: {}", self.what),
            (line, key) => write!(f, "line {line}: {key}: {}", self.what),
        }
    }
}

/// The faults found so far, and where lines begin.
pub struct Faults<'a> {
    text: &'a str,
    /// The text is not TOML throughout: what seems missing or unknown may only stand behind the broken place.
    pub broken: bool,
    pub found: Vec<Fault>,
}

impl<'a> Faults<'a> {
    pub fn new(text: &'a str) -> Faults<'a> {
        Faults { text, broken: false, found: Vec::new() }
    }

    pub fn at(&mut self, offset: usize, key: &str, what: impl Into<String>) {
        let before = &self.text[..offset.min(self.text.len())];
        let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        self.found.push(Fault { line, key: key.to_owned(), what: what.into() });
    }

    pub fn missing(&mut self, key: &str, what: impl Into<String>) {
        if self.broken {
            return;
        }
        self.found.push(Fault { line: 0, key: key.to_owned(), what: what.into() });
    }
}

/// A table whose keys are taken one by one; what is left over is unknown.
pub struct Table<'t, 'i> {
    table: Option<&'t DeTable<'i>>,
    /// Where it stands in the file, as `bench[1].`.
    path: String,
    offset: usize,
    taken: BTreeSet<&'static str>,
}

impl<'t, 'i> Table<'t, 'i> {
    pub fn new(table: Option<&'t DeTable<'i>>, path: impl Into<String>, offset: usize) -> Table<'t, 'i> {
        Table { table, path: path.into(), offset, taken: BTreeSet::new() }
    }

    pub fn offset(&self) -> usize {
        self.offset
    }

    pub fn path(&self, key: &str) -> String {
        format!("{}{key}", self.path)
    }

    pub fn value(&mut self, key: &'static str) -> Option<&'t Spanned<DeValue<'i>>> {
        self.taken.insert(key);
        self.table?.get(key)
    }

    /// A sub-table; an absent one is empty.
    pub fn table(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Table<'t, 'i> {
        let path = format!("{}{key}.", self.path);
        match self.value(key) {
            None => Table::new(None, path, 0),
            Some(value) => {
                let table = value.get_ref().as_table();
                if table.is_none() {
                    faults.at(
                        value.span().start,
                        &self.path(key),
                        format!("must be a table: write [{key}] on a line of its own"),
                    );
                }
                Table::new(table, path, value.span().start)
            }
        }
    }

    /// A list of tables, written as `[[key]]`; an absent one is empty.
    pub fn tables(&mut self, key: &'static str, faults: &mut Faults<'_>, brackets: &str) -> Vec<Table<'t, 'i>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        let path = self.path(key);
        let Some(list) = value.get_ref().as_array() else {
            faults.at(value.span().start, &path, brackets);
            return Vec::new();
        };
        let mut tables = Vec::new();
        for (index, item) in list.iter().enumerate() {
            let table = item.get_ref().as_table();
            if table.is_none() {
                faults.at(item.span().start, &path, brackets);
            }
            tables.extend(table.map(|table| Table::new(Some(table), format!("{path}[{}].", index + 1), item.span().start)));
        }
        tables
    }

    /// A text, made into what is wanted; the error of `make` says what would do.
    pub fn text<T>(&mut self, key: &'static str, faults: &mut Faults<'_>, make: impl Fn(&str) -> Result<T, String>) -> Option<T> {
        let value = self.value(key)?;
        let path = self.path(key);
        let Some(text) = value.get_ref().as_str() else {
            faults.at(value.span().start, &path, "must be a text in quotation marks");
            return None;
        };
        make(text).map_err(|what| faults.at(value.span().start, &path, what)).ok()
    }

    /// A whole number within a range.
    pub fn number(&mut self, key: &'static str, faults: &mut Faults<'_>, range: std::ops::RangeInclusive<u64>) -> Option<u64> {
        let value = self.value(key)?;
        let number = value.get_ref().as_integer().and_then(|integer| u64::from_str_radix(integer.as_str(), integer.radix()).ok());
        let found = number.filter(|number| range.contains(number));
        if found.is_none() {
            let path = self.path(key);
            faults.at(value.span().start, &path, format!("must be a whole number from {} to {}", range.start(), range.end()));
        }
        found
    }

    pub fn truth(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<bool> {
        let value = self.value(key)?;
        let found = value.get_ref().as_bool();
        if found.is_none() {
            let path = self.path(key);
            faults.at(value.span().start, &path, "must be true or false");
        }
        found
    }

    /// A list of texts.
    pub fn texts(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<Vec<String>> {
        let value = self.value(key)?;
        let list = value.get_ref().as_array();
        let texts = list.and_then(|list| list.iter().map(|item| item.get_ref().as_str().map(str::to_owned)).collect());
        if texts.is_none() {
            let path = self.path(key);
            faults.at(value.span().start, &path, "must be a list of texts, as in [\"bench.local\"]");
        }
        texts
    }

    /// Tells of every key that nobody asked for.
    pub fn finish(self, faults: &mut Faults<'_>) {
        if faults.broken {
            return;
        }
        for (key, _) in self.table.into_iter().flatten() {
            let name: &str = key.get_ref();
            if !self.taken.contains(name) {
                let known = self.taken.iter().copied().collect::<Vec<_>>().join(", ");
                faults.at(key.span().start, &self.path(name), format!("is not known here; the keys are {known}"));
            }
        }
    }
}
