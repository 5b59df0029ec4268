//! What is read off a zone, in sentences for a terminal.

use crate::analysis::readings::{Eater, RUN_VARIATION, RegulatorState};
use crate::analysis::{Analysis, ZoneReadings, readings};
use crate::coverage::Evenness;
use crate::finding::{Message, Value, listed};
use crate::hydraulics::SupplyCase;
use crate::ids::{Id, in_short};
use crate::model::Plan;
use crate::text;
use crate::units::{Pressure, UnitSystem, Velocity};

/// One sentence a reading, at low supply where a case is needed.
pub(super) fn sentences(
    plan: &Plan,
    analysis: &Analysis,
    zone: Id,
    units: UnitSystem,
) -> Vec<String> {
    let Some(read) = readings(plan, analysis, zone) else {
        return Vec::new();
    };
    let mut said: Vec<Message> = Vec::new();
    if let Some(losses) = &read.shares {
        let mut shares = losses.shares.clone();
        shares.sort_by(|a, b| b.lost.total_cmp(&a.lost));
        let shown = Pressure::from_kilopascals(0.5);
        let named = shares
            .iter()
            .filter(|share| share.lost.abs() >= shown)
            .map(|share| {
                let name = match share.eater {
                    Eater::Supply(id) | Eater::Object(id) => id.to_string(),
                    Eater::Height => text::get("zone.height").to_owned(),
                };
                format!("{name} {}", units.pressure(share.lost))
            });
        said.push(Message::new(
            "zone.losses",
            vec![
                ("at_rest", Value::Pressure(losses.at_rest)),
                ("arrives", Value::Pressure(losses.arrives)),
                ("outlet", Value::Text(losses.outlet.clone())),
                ("shares", Value::Text(listed(named))),
            ],
        ));
    }
    if let Some(even) = &read.even[0] {
        said.push(Message::new(
            "zone.even",
            vec![
                ("emission", Value::Share(even.emission)),
                (
                    "emission_word",
                    Value::Key(even.emission_class.key.to_owned()),
                ),
                ("variation", Value::Share(even.hydraulic.flow_variation)),
                (
                    "variation_word",
                    Value::Key(even.variation_class.key.to_owned()),
                ),
                ("statistical", Value::Share(even.statistical)),
                (
                    "statistical_word",
                    Value::Key(even.statistical_class.key.to_owned()),
                ),
                ("christiansen", Value::Share(even.hydraulic.christiansen)),
                ("made", Value::Share(even.manufacture)),
            ],
        ));
    }
    if !read.rates.is_empty() {
        // Beds that are watered at one rate are told together.
        let mut alike: Vec<(String, Vec<Id>)> = Vec::new();
        for (id, rates) in &read.rates {
            let shown = units.rate(rates[0]);
            match alike.iter_mut().find(|(rate, _)| *rate == shown) {
                Some((_, beds)) => beds.push(*id),
                None => alike.push((shown, vec![*id])),
            }
        }
        let rates = alike
            .into_iter()
            .map(|(rate, beds)| format!("{} {rate}", in_short(beds)));
        said.push(Message::new(
            "zone.rates",
            vec![("rates", Value::Text(listed(rates)))],
        ));
    }
    for (id, area) in &analysis.sprayed {
        let map = area.in_case(SupplyCase::Low);
        let Some(map) = map.filter(|_| area.zones.contains(&zone)) else {
            continue;
        };
        said.push(Message::new(
            "zone.coverage",
            vec![
                ("area", Value::Ids(vec![*id])),
                ("mean", Value::Rate(map.mean)),
                ("low_quarter", Value::Share(map.low_quarter)),
                (
                    "word",
                    Value::Key(Evenness::of(map.low_quarter).key().to_owned()),
                ),
                ("christiansen", Value::Share(map.christiansen)),
                ("off", Value::Share(map.off_share())),
                ("spots", Value::Count(map.spots.len())),
            ],
        ));
    }
    let mut sentences: Vec<String> = said.iter().map(|message| message.sentence(units)).collect();
    sentences.extend(zone_run_sentences(plan, &read, units));
    sentences
}

/// Longest runs, rinsing, surge and regulators, a sentence each.
#[must_use]
pub fn zone_run_sentences(plan: &Plan, read: &ZoneReadings, units: UnitSystem) -> Vec<String> {
    let mut said: Vec<Message> = Vec::new();
    for run in &read.longest {
        let name = plan
            .catalog
            .emission(&run.part)
            .map_or(run.part.as_str(), |part| part.name.as_str());
        said.push(Message::new(
            "zone.longest",
            vec![
                ("part", Value::Text(name.to_owned())),
                ("inlet", Value::Pressure(run.inlet)),
                ("length", Value::Length(run.length)),
                ("count", Value::Count(run.num)),
                ("variation", Value::Share(RUN_VARIATION)),
            ],
        ));
    }
    if let Some(flush) = &read.flush {
        said.push(Message::new(
            "zone.flush",
            vec![
                ("end", Value::Text(flush.worst.end.name.clone())),
                ("velocity", Value::Velocity(flush.worst.velocity)),
                ("at_once", Value::Count(flush.at_once)),
                ("count", Value::Count(flush.ends.len())),
            ],
        ));
    }
    let worst = read
        .surges
        .iter()
        .max_by(|a, b| a.sudden.total_cmp(&b.sudden))
        .filter(|surge| surge.velocity > Velocity::ZERO);
    if let Some(surge) = worst {
        said.push(Message::new(
            "zone.surge",
            vec![
                ("run", Value::Ids(vec![surge.run])),
                ("sudden", Value::Pressure(surge.sudden)),
                ("closing", Value::Pressure(surge.closing)),
            ],
        ));
    }
    for regulator in &read.regulators {
        for (case, (state, outlet)) in SupplyCase::ALL
            .into_iter()
            .zip(regulator.state.iter().zip(regulator.outlet))
        {
            let key = match state {
                RegulatorState::Holding => "regulator.holding",
                RegulatorState::WideOpen => "regulator.wide_open",
                RegulatorState::TooLittleFlow => "regulator.too_little_flow",
                RegulatorState::TooMuchFlow => "regulator.too_much_flow",
            };
            if case != SupplyCase::Normal {
                said.push(Message::new(
                    "zone.regulator",
                    vec![
                        ("id", Value::Ids(vec![regulator.id])),
                        ("state", Value::Key(key.to_owned())),
                        ("outlet", Value::Pressure(outlet)),
                        ("case", Value::Text(case.word().to_owned())),
                    ],
                ));
            }
        }
    }
    said.iter().map(|message| message.sentence(units)).collect()
}
