//! Rules of a town or a supplier, read from a file and carried in the plan from then on.

use std::path::Path;

use aubergine_core::edit::Edit;
use aubergine_core::{file, rulebook, text};

use crate::disk;
use crate::window::app::App;

/// Adds a book to those in force, in place of one of the same name; what is wrong with it is told with its line.
pub(super) fn add_from(app: &mut App, path: &Path) {
    let read = std::fs::read_to_string(path).map_err(|error| disk::why(&error, path));
    let book = read.and_then(|read| rulebook::read_local(&read).map_err(|error| error.to_string()));
    let book = match book {
        Ok(book) => book,
        Err(why) => {
            let path = path.display().to_string();
            app.say_problem(text::fill(
                "window.rules_unread",
                [("why", why), ("path", path)],
            ));
            return;
        }
    };
    let name = path.file_name().unwrap_or(path.as_os_str());
    let mut rules = app.plan().rules.clone();
    let (id, title) = (book.id.clone(), book.title.clone());
    rules.in_force.retain(|known| *known != id);
    rules.in_force.push(id.clone());
    rules
        .books
        .insert(id, file::embed(book, &name.to_string_lossy()));
    let edit = Edit::SetRules(Box::new(rules));
    if let Some(counts) = super::edit::apply_counted(app, "Add local rules", &edit) {
        app.say(text::fill(
            "window.rules_added",
            [("title", title), ("counts", counts)],
        ));
    }
}
