//! Reads a rulebook from TOML and says where it is wrong: line and row.

use super::rows::Rulebook;

/// A text that is not a rulebook.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("rulebook, line {line}{}: {message}", row_words(.row.as_deref()))]
pub struct RulebookError {
    /// Line of the text, counted from 1.
    pub line: usize,
    /// Id of the row it belongs to, where one is near.
    pub row: Option<String>,
    /// What is wrong.
    pub message: String,
}

fn row_words(row: Option<&str>) -> String {
    row.map(|row| format!(", row {row}")).unwrap_or_default()
}

/// Reads a book.
///
/// # Errors
/// The text is not TOML, or a row has an unknown field, an unknown word or lacks a field.
pub fn parse(text: &str) -> Result<Rulebook, RulebookError> {
    toml::from_str(text).map_err(|error| {
        let at = error.span().map_or(0, |span| span.start.min(text.len()));
        let line = text.bytes().take(at).filter(|byte| *byte == b'\n').count() + 1;
        RulebookError {
            line,
            row: row_at(text, line),
            message: error.message().to_owned(),
        }
    })
}

/// Reads a book that is not the program's own, such as a town's rules, and proves it sound.
///
/// # Errors
/// What [`parse`] finds, a name that is taken, or the first of what [`check`](super::check()) finds, with the line of its row.
pub fn read_local(text: &str) -> Result<Rulebook, RulebookError> {
    let book = parse(text)?;
    if super::built_in_book(&book.id).is_some() {
        let message = crate::text::fill("book.name_taken", [("id", book.id)]);
        return Err(at_row(text, None, message));
    }
    match super::check(&book).into_iter().next() {
        None => Ok(book),
        Some(problem) => Err(at_row(text, problem.row(), problem.to_string())),
    }
}

/// An error at the line where a row gives its id; at the id of the book itself without a row.
fn at_row(text: &str, row: Option<&str>, message: String) -> RulebookError {
    let is_sought = |line: &str| id_on(line).is_some_and(|id| row.is_none_or(|row| row == id));
    let line = text.lines().position(is_sought);
    RulebookError {
        line: line.map_or(1, |line| line + 1),
        row: row.map(str::to_owned),
        message,
    }
}

/// The id of the table that a line belongs to: from its `[[…]]` header to the next one.
fn row_at(text: &str, line: usize) -> Option<String> {
    let lines: Vec<&str> = text.lines().collect();
    let header = |line: &&str| line.trim_start().starts_with("[[");
    let start = lines.iter().take(line).rposition(header)?;
    lines
        .iter()
        .skip(start + 1)
        .take_while(|line| !header(line))
        .find_map(|line| id_on(line))
        .map(str::to_owned)
}

/// The id that a line gives, if it does.
fn id_on(line: &str) -> Option<&str> {
    let value = line.trim().strip_prefix("id")?.trim_start();
    Some(value.strip_prefix('=')?.trim().trim_matches('"'))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rulebook::BUILT_IN_TEXTS;

    #[test]
    fn the_built_in_books_are_read_and_survive_json() {
        for text in BUILT_IN_TEXTS {
            let book = parse(text).map_err(|error| error.to_string()).unwrap();
            let json = serde_json::to_string(&book).unwrap();
            assert_eq!(serde_json::from_str::<Rulebook>(&json).unwrap(), book);
        }
    }

    const TOWN: &str = include_str!("../../../sample-plans/example-town.toml");
    const TOWN_MESSAGE: &str = "The town of this example wants no spray on food beds.";

    #[test]
    fn a_towns_rules_are_read_and_their_errors_name_the_line() {
        let book = read_local(TOWN).unwrap();
        assert!(book.overlay && book.binding);
        let line_of = |text: &str, words: &str| {
            let line = text.lines().position(|line| line.contains(words));
            line.unwrap() + 1
        };
        let row = "id = \"TOWN-1\"";
        // What is changed, into what, and the line that the error has to name.
        for (good, bad, at, named) in [
            (
                "id = \"example-town\"",
                "id = \"us-tx\"",
                "id = \"us-tx\"",
                None,
            ),
            ("\"prohibit\"", "\"never\"", "\"never\"", Some("TOWN-1")),
            (
                "source = \"ordinance\"",
                "source = \"nowhere\"",
                row,
                Some("TOWN-1"),
            ),
            (TOWN_MESSAGE, "", row, Some("TOWN-1")),
        ] {
            let text = TOWN.replacen(good, bad, 1);
            let error = read_local(&text).unwrap_err();
            assert_eq!(error.row.as_deref(), named, "{error}");
            assert_eq!(error.line, line_of(&text, at), "{error}");
        }
    }

    #[test]
    fn an_error_names_the_line_and_the_row() {
        let text = BUILT_IN_TEXTS[1].replacen("verdict = \"conditions\"", "verdict = \"maybe\"", 1);
        let line = text
            .lines()
            .position(|line| line.contains("\"maybe\""))
            .unwrap()
            + 1;
        let error = parse(&text).unwrap_err();
        assert_eq!((error.line, error.row.as_deref()), (line, Some("CA-01")));
        assert!(error.to_string().contains("row CA-01"), "{error}");
    }
}
