//! Reads the published tables in `tests/data`.

use std::path::PathBuf;

/// Rows of a table with named columns.
pub struct Table {
    name: String,
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// One row.
#[derive(Clone, Copy)]
pub struct Row<'a>(&'a Table, usize);

impl Table {
    pub fn read(name: &str) -> Self {
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.starts_with('#'), "{name} does not name its source");
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let columns = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows: Vec<Vec<String>> =
            reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
        assert!(!rows.is_empty(), "{name} is empty");
        Self { name: name.to_owned(), columns, rows }
    }
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        (0..self.rows.len()).map(move |i| Row(self, i))
    }
    pub fn len(&self) -> usize {
        self.rows.len()
    }
}

impl Row<'_> {
    pub fn text(&self, column: &str) -> &str {
        let i = self.0.columns.iter().position(|c| c == column);
        let i = i.unwrap_or_else(|| panic!("{} has no column {column}", self.0.name));
        &self.0.rows[self.1][i]
    }
    pub fn number(&self, column: &str) -> f64 {
        self.text(column)
            .parse()
            .unwrap_or_else(|_| panic!("{} {column}: {}", self.0.name, self.text(column)))
    }
}
