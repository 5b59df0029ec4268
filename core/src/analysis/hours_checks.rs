//! Sprays of reclaimed water and the hours at which people may be there.

use crate::finding::{Finding, Message, Severity, Value};
use crate::ids::Id;
use crate::model::{Plan, WaterKind};
use crate::rulebook::SiteKind;

/// By day people are there: from 06:00 to 22:00. *Source*: a site supervisor's manual that waters between 22:00 and 06:00 or
/// when the site is empty, read; no rule text we hold names hours.
const DAY: std::ops::Range<u16> = 6 * 60..22 * 60;

/// Every finding about hours.
pub(super) fn all(plan: &Plan) -> Option<Finding> {
    let heads = plan.objects.emissions.iter();
    let heads: Vec<Id> = heads
        .filter(|(_, head)| {
            head.kind.sprays() && plan.water_kind(head.water) == Some(WaterKind::Reclaimed)
        })
        .map(|(id, _)| *id)
        .collect();
    if heads.is_empty() {
        return None;
    }
    let mut values = vec![("ids", Value::Ids(heads.clone()))];
    let hours = plan.site.hours.as_ref();
    let known = hours.and_then(|hours| Some((hours, hours.minutes()?)));
    let key = match known {
        Some((hours, (from, to))) if is_by_day(from, to) => {
            values.push(("from", Value::Text(hours.from.clone())));
            values.push(("to", Value::Text(hours.to.clone())));
            "spray.by_day"
        }
        None if plan.site.kind != SiteKind::ResidenceIndividual => "spray.hours_open",
        _ => return None,
    };
    Some(Finding::new(
        key,
        Severity::Check,
        heads,
        Message::new(key, values),
    ))
}

/// Whether a span of the day, over midnight if it ends earlier than it starts, has a minute of the day in it.
fn is_by_day(from: u16, to: u16) -> bool {
    let is_over_midnight = to <= from;
    let within = |minute: u16| {
        if is_over_midnight {
            minute >= from || minute < to
        } else {
            (from..to).contains(&minute)
        }
    };
    within(DAY.start) || within(DAY.end - 1) || DAY.contains(&from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Hours;

    #[test]
    fn hours_are_read_and_those_by_day_are_known() {
        for (words, by_day) in [
            ("22:00-06:00", Some(false)),
            ("22:00 – 6:00", Some(false)),
            ("21:59-06:00", Some(true)),
            ("22:00-06:01", Some(true)),
            ("23:00-01:00", Some(false)),
            ("01:00-05:30", Some(false)),
            ("10:00-16:00", Some(true)),
            ("05:00-23:00", Some(true)),
            ("22:00", None),
            ("25:00-06:00", None),
            ("ten to six", None),
        ] {
            let hours = Hours::read(words);
            let found = hours.and_then(|hours| hours.minutes());
            let found = found.map(|(from, to)| is_by_day(from, to));
            assert_eq!(found, by_day, "{words}");
        }
    }
}
