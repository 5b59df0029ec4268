//! What is read off a zone, as rows: shares of the pressure, evenness, rates, runs, flushing, surge, regulators.

use serde::Serialize;
use serde_json::Value as Json;

use super::rows::ByCase;
use super::{by_case, kpa, lps, metres, mps, rounded, word};
use crate::analysis::readings::{Eater, EvenReading, RegulatorState};
use crate::analysis::{Analysis, ZoneReadings, readings};
use crate::hydraulics::uniformity::Uniformity;
use crate::ids::Id;
use crate::model::Plan;
use crate::text;

#[derive(Serialize)]
pub(super) struct ReadingsRow {
    #[serde(skip_serializing_if = "Option::is_none")]
    losses: Option<LossesRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    evenness: Option<EvennessRow>,
    rates: Vec<RateRow>,
    longest_runs: Vec<RunRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    flushing: Option<FlushingRow>,
    surges: Vec<SurgeRow>,
    regulators: Vec<RegulatorRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    demand: Option<DemandRow>,
}

#[derive(Serialize)]
struct LossesRow {
    outlet: String,
    at_rest_kpa: f64,
    arrives_kpa: f64,
    shares: Vec<ShareRow>,
}

#[derive(Serialize)]
struct ShareRow {
    id: String,
    kpa: f64,
}

#[derive(Serialize)]
struct EvennessRow {
    manufacture_variation: f64,
    flow_variation: ByCase,
    christiansen: ByCase,
    statistical: ByCase,
    emission: ByCase,
    words: WordsRow,
}

#[derive(Serialize)]
struct WordsRow {
    flow_variation: &'static str,
    statistical: &'static str,
    emission: &'static str,
}

#[derive(Serialize)]
struct RateRow {
    id: Id,
    mm_per_h: ByCase,
}

#[derive(Serialize)]
struct RunRow {
    id: String,
    inlet_kpa: f64,
    emitters: usize,
    length_m: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    closed_form_emitters: Option<f64>,
}

#[derive(Serialize)]
struct FlushingRow {
    ends: Vec<EndRow>,
    worst: String,
    worst_mps: f64,
    at_once: usize,
}

#[derive(Serialize)]
struct EndRow {
    id: String,
    needs_lps: f64,
}

#[derive(Serialize)]
struct SurgeRow {
    id: Id,
    velocity_mps: f64,
    wave_mps: f64,
    sudden_kpa: f64,
    closing_kpa: f64,
}

#[derive(Serialize)]
struct RegulatorRow {
    id: Id,
    flow_lps: ByCase,
    outlet_kpa: ByCase,
    state: StateRow,
}

#[derive(Serialize)]
struct StateRow {
    low: Json,
    normal: Json,
    high: Json,
}

#[derive(Serialize)]
struct DemandRow {
    id: Id,
    asked_lps: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit_lps: Option<f64>,
    supply_kpa: ByCase,
}

pub(super) fn row(plan: &Plan, analysis: &Analysis, zone: Id) -> Option<ReadingsRow> {
    let read = readings(plan, analysis, zone)?;
    Some(ReadingsRow {
        losses: losses(&read),
        evenness: evenness(&read),
        rates: read
            .rates
            .iter()
            .map(|(id, rates)| RateRow {
                id: *id,
                mm_per_h: by_case(rates.map(|rate| Some(rounded(rate.millimetres_per_hour(), 4)))),
            })
            .collect(),
        longest_runs: read
            .longest
            .iter()
            .map(|run| RunRow {
                id: run.part.clone(),
                inlet_kpa: kpa(run.inlet),
                emitters: run.num,
                length_m: metres(run.length),
                closed_form_emitters: run.closed_form.map(|num| rounded(num, 2)),
            })
            .collect(),
        flushing: read.flush.as_ref().map(|flush| {
            let mut ends: Vec<EndRow> = flush
                .ends
                .iter()
                .map(|end| EndRow {
                    id: end.name.clone(),
                    needs_lps: lps(end.needs),
                })
                .collect();
            ends.sort_by_cached_key(|end| super::natural(&end.id));
            FlushingRow {
                ends,
                worst: flush.worst.end.name.clone(),
                worst_mps: mps(flush.worst.velocity),
                at_once: flush.at_once,
            }
        }),
        surges: read
            .surges
            .iter()
            .map(|surge| SurgeRow {
                id: surge.run,
                velocity_mps: mps(surge.velocity),
                wave_mps: mps(surge.speed),
                sudden_kpa: kpa(surge.sudden),
                closing_kpa: kpa(surge.closing),
            })
            .collect(),
        regulators: read
            .regulators
            .iter()
            .map(|regulator| {
                let [low, normal, high] = regulator.state.map(|state: RegulatorState| word(&state));
                RegulatorRow {
                    id: regulator.id,
                    flow_lps: by_case(regulator.flow.map(|flow| Some(lps(flow)))),
                    outlet_kpa: by_case(regulator.outlet.map(|pressure| Some(kpa(pressure)))),
                    state: StateRow { low, normal, high },
                }
            })
            .collect(),
        demand: read.supply.map(|supply| DemandRow {
            id: supply.id,
            asked_lps: lps(supply.asked),
            limit_lps: supply.limit.map(lps),
            supply_kpa: by_case(supply.pressure.map(|pressure| Some(kpa(pressure)))),
        }),
    })
}

fn losses(read: &ZoneReadings) -> Option<LossesRow> {
    let losses = read.shares.as_ref()?;
    let shares = losses.shares.iter().map(|share| ShareRow {
        id: match share.eater {
            Eater::Supply(id) | Eater::Object(id) => id.to_string(),
            Eater::Height => "height".to_owned(),
        },
        kpa: rounded(share.lost.kilopascals(), 6),
    });
    Some(LossesRow {
        outlet: losses.outlet.clone(),
        at_rest_kpa: rounded(losses.at_rest.kilopascals(), 6),
        arrives_kpa: rounded(losses.arrives.kilopascals(), 6),
        shares: shares.collect(),
    })
}

fn evenness(read: &ZoneReadings) -> Option<EvennessRow> {
    let low = read.even[0].as_ref()?;
    let cases = |of: fn(&EvenReading) -> f64| {
        by_case(
            read.even
                .each_ref()
                .map(|even| even.as_ref().map(|even| rounded(of(even), 6))),
        )
    };
    let hydraulic = |of: fn(&Uniformity) -> f64| {
        by_case(
            read.even
                .each_ref()
                .map(|even| even.as_ref().map(|even| rounded(of(&even.hydraulic), 6))),
        )
    };
    Some(EvennessRow {
        manufacture_variation: rounded(low.manufacture, 6),
        flow_variation: hydraulic(|even| even.flow_variation),
        christiansen: hydraulic(|even| even.christiansen),
        statistical: cases(|even| even.statistical),
        emission: cases(|even| even.emission),
        words: WordsRow {
            flow_variation: text::get(low.variation_class.key),
            statistical: text::get(low.statistical_class.key),
            emission: text::get(low.emission_class.key),
        },
    })
}
