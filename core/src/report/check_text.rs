//! The result of a check as plain text for a terminal.

use std::fmt::Write as _;

use super::outcome::outcome;
use super::summary::{Cases, ZoneSummary, zone_summaries};
use super::{Checked, Shown, findings_section};
use crate::analysis::settled::standing_in_words;
use crate::contact::Ruling;
use crate::drawing::notice::aged_line;
use crate::drawing::words::plan_name;
use crate::finding::Finding;
use crate::hydraulics::SupplyCase;
use crate::ids::{Id, in_short};
use crate::takeoff::Quantity;
use crate::text;
use crate::units::{Flow, Pressure};

/// The check in words: findings first, then verdicts, zones, parts, assumptions, cautions.
#[must_use]
pub fn check_text(checked: &Checked<'_>) -> String {
    let mut out = String::new();
    // Writing into a String cannot fail.
    let _ = write_all(&mut out, checked);
    out
}

fn write_all(out: &mut String, checked: &Checked<'_>) -> std::fmt::Result {
    let analysis = checked.analysis;
    writeln!(out, "{} · {}", plan_name(checked.plan), checked.date)?;
    writeln!(out, "{}", findings_section::counts(checked))?;
    if let Some(aged) = aged_line(checked.plan, checked.date) {
        writeln!(out, "{aged}")?;
    }

    heading(out, "report.findings")?;
    if analysis.findings.is_empty() {
        writeln!(out, "{}", text::get("report.all_clear"))?;
    }
    for finding in &analysis.findings {
        write_finding(out, checked, finding)?;
    }
    write_verdicts(out, checked)?;
    write_zones(out, checked)?;

    heading(out, "report.parts")?;
    for line in &analysis.parts.lines {
        let quantity = match line.quantity {
            Quantity::Pieces(count) => format!("{count} ×"),
            Quantity::Run(length) => checked.units.run(length),
        };
        writeln!(out, "{quantity:>12}  {}", line.name)?;
    }
    heading(out, "report.assumptions")?;
    for assumption in &analysis.assumptions {
        writeln!(out, "· {}", assumption.message.sentence(checked.units))?;
    }
    heading(out, "report.cautions")?;
    for caution in super::cautions() {
        writeln!(out, "· {caution}")?;
    }
    Ok(())
}

fn heading(out: &mut String, key: &str) -> std::fmt::Result {
    let heading = text::get(key);
    writeln!(out, "\n{heading}\n{}", "─".repeat(heading.chars().count()))
}

fn write_finding(out: &mut String, checked: &Checked<'_>, finding: &Finding) -> std::fmt::Result {
    let id = finding.id();
    writeln!(
        out,
        "{:<5} {id}  {}",
        finding.severity.word(),
        finding.message.sentence(checked.units)
    )?;
    if let Some(citation) = &finding.citation {
        writeln!(out, "                {}", super::ruled(citation))?;
    }
    if let Some(words) = standing_in_words(checked.review, finding) {
        writeln!(out, "                {words}")?;
    }
    let Some((_, fixes)) = checked.fixes.iter().find(|(known, _)| *known == id) else {
        return Ok(());
    };
    for fix in fixes {
        let Some(outcome) = outcome(finding, fix, checked.units, false) else {
            continue;
        };
        writeln!(
            out,
            "                would help: {} – {outcome}",
            fix.message.sentence(checked.units)
        )?;
    }
    Ok(())
}

/// A line for each crop and method with one answer; whom to ask is said once for the lines above it that ask the same.
fn write_verdicts(out: &mut String, checked: &Checked<'_>) -> std::fmt::Result {
    heading(out, "report.verdicts")?;
    let judged = checked.analysis.contact.values();
    let mut groups: Vec<(&Ruling, Vec<Id>)> = Vec::new();
    for ruling in judged.flat_map(|judged| &judged.rulings) {
        match groups.iter_mut().find(|(like, _)| are_alike(like, ruling)) {
            Some((_, subjects)) => subjects.push(ruling.subject),
            None => groups.push((ruling, vec![ruling.subject])),
        }
    }
    let mut groups = groups.into_iter().peekable();
    while let Some((ruling, subjects)) = groups.next() {
        let zone = ruling.zone.map(|zone| zone.to_string()).unwrap_or_default();
        let reading = if ruling.cautious_reading {
            " (our cautious reading)"
        } else {
            ""
        };
        writeln!(
            out,
            "{:<10} {:<3} {:<28} {:<28} {}{reading} [{}]",
            in_short(subjects),
            zone,
            text::get(&ruling.name),
            text::get(ruling.method.key()),
            text::get(ruling.verdict.key()),
            super::ruled(&ruling.decided_by.citation),
        )?;
        if groups.peek().is_none_or(|(next, _)| next.ask != ruling.ask) {
            writeln!(out, "Ask {}.", ruling.ask)?;
        }
    }
    Ok(())
}

/// Whether two plantings can share a line: all that it shows is the same.
fn are_alike(a: &Ruling, b: &Ruling) -> bool {
    let shown = |ruling: &Ruling| {
        (
            ruling.zone,
            ruling.method,
            ruling.verdict,
            ruling.cautious_reading,
        )
    };
    shown(a) == shown(b)
        && a.name == b.name
        && a.ask == b.ask
        && a.decided_by.citation == b.decided_by.citation
}

fn write_zones(out: &mut String, checked: &Checked<'_>) -> std::fmt::Result {
    heading(out, "report.zones")?;
    if !checked.analysis.zones.is_empty() {
        writeln!(out, "{}", text::get("report.letters"))?;
    }
    for row in zone_summaries(checked.plan, checked.analysis) {
        let ZoneSummary {
            id,
            label,
            is_fed,
            flow,
            rated,
            at_valve,
            first,
            last,
            num_emitters,
            uniformity,
        } = row;
        let units = checked.units;
        if !is_fed {
            let gaps = [
                ("zone", format!("{id} {label}").trim_end().to_owned()),
                ("rated", units.flow(rated)),
                ("count", num_emitters.to_string()),
            ];
            writeln!(out, "{}", text::fill("report.zone_dry", gaps))?;
            continue;
        }
        let flow = pick(checked.shown, flow.map(Some), Flow::total_cmp, true);
        let shown = |found: Option<(SupplyCase, Pressure)>| {
            found.map_or_else(
                || "–".to_owned(),
                |(case, value)| format!("{} {}", units.pressure(value), case.letter()),
            )
        };
        let at_valve = shown(pick(checked.shown, at_valve, Pressure::total_cmp, false));
        let first = shown(pick(checked.shown, first, Pressure::total_cmp, true));
        let last = shown(pick(checked.shown, last, Pressure::total_cmp, false));
        let even = pick(checked.shown, uniformity, f64::total_cmp, false);
        let even = even.map_or_else(
            || "–".to_owned(),
            |(_, share)| crate::units::display::percent(share),
        );
        let flow = flow.map_or_else(
            || "–".to_owned(),
            |(case, flow)| format!("{} {}", units.flow(flow), case.letter()),
        );
        writeln!(
            out,
            "{id} {label}: {flow} (rated {}), behind the valve {at_valve}, {num_emitters} emitters from {first} to \
             {last}, low-quarter uniformity {even} (hydraulic only)",
            units.flow(rated),
        )?;
        for sentence in super::zone_text::sentences(checked.plan, checked.analysis, id, units) {
            writeln!(out, "    · {sentence}")?;
        }
    }
    Ok(())
}

/// The value of the case shown; for the worst case the largest or the least.
fn pick<T: Copy>(
    shown: Shown,
    cases: Cases<Option<T>>,
    order: fn(&T, &T) -> std::cmp::Ordering,
    largest: bool,
) -> Option<(SupplyCase, T)> {
    let mut known = SupplyCase::ALL
        .into_iter()
        .zip(cases)
        .filter_map(|(case, value)| Some((case, value?)));
    match shown {
        Shown::Case(wanted) => known.find(|(case, _)| *case == wanted),
        Shown::Worst if largest => known.max_by(|a, b| order(&a.1, &b.1)),
        Shown::Worst => known.min_by(|a, b| order(&a.1, &b.1)),
    }
}
