//! The report tree as plain text: what goldens compare, and what a reader without pictures gets.

use std::fmt::Write as _;

use super::tree::{Block, Report, Table};

/// The whole report. A drawing is told in its words.
#[must_use]
pub fn plain_text(report: &Report) -> String {
    let mut out = String::new();
    // Writing into a String cannot fail.
    let _ = write_report(&mut out, report);
    out
}

fn write_report(out: &mut String, report: &Report) -> std::fmt::Result {
    writeln!(out, "{}", report.title)?;
    writeln!(out, "{}", "═".repeat(report.title.chars().count()))?;
    writeln!(out, "{}", report.kind)?;
    for (label, words) in &report.facts {
        writeln!(out, "{label}: {words}")?;
    }
    for section in &report.sections {
        writeln!(out, "\n{}", section.heading)?;
        writeln!(out, "{}", "─".repeat(section.heading.chars().count()))?;
        for block in &section.blocks {
            write_block(out, block)?;
        }
    }
    writeln!(out, "\n{}\n{}", report.running, report.footer)
}

fn write_block(out: &mut String, block: &Block) -> std::fmt::Result {
    match block {
        Block::Paragraph { text } => writeln!(out, "{text}"),
        Block::Table(table) => write_table(out, table),
        Block::Figure(figure) => writeln!(out, "[{}]\n{}", figure.alt, figure.caption),
        Block::List { items } | Block::Cautions { items } => {
            items.iter().try_for_each(|item| writeln!(out, "· {item}"))
        }
        Block::Notes { items, below } => {
            (1..)
                .zip(items)
                .try_for_each(|(number, item)| writeln!(out, "{number}  {item}"))?;
            writeln!(out, "{below}")
        }
        Block::Entries { items } => items.iter().try_for_each(|item| {
            writeln!(out, "{:<5} {}", item.tag, item.text)?;
            item.below
                .iter()
                .try_for_each(|line| writeln!(out, "      {line}"))
        }),
    }
}

/// Row by row, each cell under its head: wide cells have no use for columns.
fn write_table(out: &mut String, table: &Table) -> std::fmt::Result {
    let is_narrow = |cell: &super::tree::Cell| {
        cell.lines.len() <= 1 && cell.lines.iter().all(|line| line.chars().count() <= 60)
    };
    if !table.rows.iter().flatten().all(is_narrow) {
        for row in &table.rows {
            for (column, cell) in table.columns.iter().zip(row) {
                writeln!(out, "{}: {}", column.head, cell.lines.join(" | "))?;
            }
            writeln!(out)?;
        }
        return Ok(());
    }
    let heads = table.columns.iter().map(|column| column.head.clone());
    writeln!(out, "{}", heads.collect::<Vec<_>>().join(" | "))?;
    for row in &table.rows {
        let cells = row.iter().map(|cell| cell.lines.join(" "));
        writeln!(out, "{}", cells.collect::<Vec<_>>().join(" | "))?;
    }
    Ok(())
}
