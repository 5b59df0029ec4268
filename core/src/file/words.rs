//! What the JSON parser says, in plain words.

use crate::text;

/// The parser's complaint in our words, without its place.
pub(super) fn plain(error: &serde_json::Error) -> String {
    let said = error.to_string();
    let said = said
        .rfind(" at line ")
        .map_or(said.as_str(), |end| &said[..end]);
    if error.is_data() {
        meaning(said)
    } else {
        text::get(syntax(said)).to_owned()
    }
}

/// The key of the sentence for a mistake of spelling. The parser keeps its list of them to itself, so its words are the key.
fn syntax(said: &str) -> &'static str {
    match said {
        "expected `:`" => "file.needs_colon",
        "expected `,` or `]`" => "file.needs_list_comma",
        "expected `,` or `}`" => "file.needs_group_comma",
        "expected value" | "expected ident" => "file.needs_value",
        "key must be a string" => "file.needs_quote",
        "invalid number" => "file.bad_number",
        "number out of range" => "file.huge_number",
        "trailing comma" => "file.comma_at_end",
        "trailing characters" => "file.more_after_end",
        "recursion limit exceeded" => "file.too_deep",
        "invalid escape"
        | "invalid unicode code point"
        | "lone leading surrogate in hex escape"
        | "unexpected end of hex escape" => "file.bad_escape",
        // Any other single sign is the quotation mark.
        _ if said.starts_with("expected `") => "file.needs_quote",
        _ if said.starts_with("control character") => "file.control",
        _ => "file.unreadable_here",
    }
}

/// A value that does not fit. What our own readers say is plain already.
fn meaning(said: &str) -> String {
    if let Some(key) = said.strip_prefix("missing field ") {
        return text::fill("file.missing_value", [("key", key.to_owned())]);
    }
    if let Some((word, known)) = said
        .strip_prefix("unknown variant ")
        .and_then(|rest| rest.split_once(", expected "))
    {
        let gaps = [("word", word.to_owned()), ("known", known.to_owned())];
        return text::fill("file.unknown_word", gaps);
    }
    let mismatch = ["invalid type: ", "invalid value: "]
        .into_iter()
        .find_map(|start| said.strip_prefix(start))
        .and_then(|rest| rest.rsplit_once(", expected "));
    match mismatch {
        Some((found, wanted)) => text::fill(
            "file.wrong_kind",
            [("found", kind(found)), ("wanted", kind(wanted))],
        ),
        None => said.to_owned(),
    }
}

/// A kind of value, without the names that programs give it.
fn kind(name: &str) -> String {
    let key = match name {
        "map" | "a map" => "file.a_group",
        "sequence" | "a sequence" => "file.a_list",
        "f64" | "f32" => "file.a_number",
        "u8" | "u16" | "u32" | "u64" | "usize" | "i32" | "i64" => "file.a_whole_number",
        "a string" | "a borrowed string" => "file.a_text",
        "a boolean" => "file.true_or_false",
        "variant identifier" | "string or map" => "file.a_word",
        _ if name.starts_with("struct ") => "file.a_group",
        _ if name.starts_with("enum ") => "file.a_word",
        _ if name.starts_with("tuple ") || name.starts_with("an array ") => "file.a_list",
        _ => {
            // `integer `5``, `string "x"`: the value alone says it.
            let value = ["integer ", "floating point ", "string ", "boolean "]
                .into_iter()
                .find_map(|start| name.strip_prefix(start));
            return value.unwrap_or(name).replace('`', "");
        }
    };
    text::get(key).to_owned()
}

#[cfg(test)]
mod tests {
    use crate::file::load;

    fn said(text: &str) -> String {
        load(text.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn no_word_of_the_parser_reaches_people() {
        let header = "{\"format\": \"aubergine-plan\", \"version\": 3";
        for (text, words) in [
            ("hello".to_owned(), "not a plan file"),
            ("{".to_owned(), "ends in the middle"),
            ("{\"a\": tru".to_owned(), "ends in the middle"),
            ("{\"a\" 1}".to_owned(), "colon is missing"),
            ("{'a': 1}".to_owned(), "quotation mark"),
            ("{\"a\": [1,]}".to_owned(), "comma stands before the end"),
            ("{\"a\": 01}".to_owned(), "misspelt"),
            ("{\"a\": \"\\x\"}".to_owned(), "backslash"),
            (format!("{header} \"a\": 1}}"), "a comma, or the brace"),
            (format!("{header}}} x"), "more text follows"),
            (
                format!("{header}, \"design\": 5}}"),
                "here stands 5, where a group in braces belongs",
            ),
            (
                format!("{header}, \"design\": {{\"name\": [1]}}}}"),
                "here stands a list, where a text in quotation marks belongs",
            ),
            (
                format!(
                    "{header}, \"design\": {{\"objects\": {{\"waters\": {{\"W1\": {{}}}}}}}}}}"
                ),
                "`kind` is missing",
            ),
        ] {
            let told = said(&text);
            assert!(told.contains(words), "{text}: {told}");
            for foreign in [
                "EOF",
                "expected value",
                "ident",
                "struct",
                "invalid",
                "serde",
            ] {
                assert!(!told.contains(foreign), "{text}: {told}");
            }
        }
    }

    #[test]
    fn a_letter_cut_through_is_a_file_cut_off() {
        let told = load(b"{\"a\": \"\xC3").unwrap_err().to_string();
        assert!(
            told.starts_with("Line 1, column 8: the file ends"),
            "{told}"
        );
    }
}
