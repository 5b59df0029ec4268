//! The rows of the check document: field names are the keys, in this order.

use serde::Serialize;
use serde_json::Value as Json;

use super::coverage::CoverageRow;
use super::readings::ReadingsRow;
use crate::finding::Citation;
use crate::ids::Id;

#[derive(Serialize)]
pub(super) struct CheckDocument {
    pub(super) schema: &'static str,
    pub(super) version: u32,
    pub(super) date: String,
    pub(super) case: &'static str,
    pub(super) plan: PlanRow,
    pub(super) rules: Vec<RulesRow>,
    pub(super) supply: Vec<SupplyRow>,
    pub(super) zones: Vec<ZoneRow>,
    pub(super) nodes: Vec<NodeRow>,
    pub(super) pipes: Vec<PipeRow>,
    pub(super) devices: Vec<DeviceRow>,
    pub(super) coverage: Vec<CoverageRow>,
    pub(super) verdicts: Vec<VerdictRow>,
    pub(super) findings: Vec<FindingRow>,
    pub(super) parts: Vec<PartRow>,
    pub(super) assumptions: Vec<AssumptionRow>,
    pub(super) cautions: Vec<String>,
}

#[derive(Serialize)]
pub(super) struct PlanRow {
    pub(super) name: String,
    pub(super) fingerprint: String,
}

#[derive(Serialize)]
pub(super) struct RulesRow {
    pub(super) title: String,
    pub(super) as_of: String,
    pub(super) ask: String,
    pub(super) aged: bool,
}

#[derive(Serialize)]
pub(super) struct SupplyRow {
    pub(super) id: Id,
    pub(super) water: Id,
    pub(super) kind: Json,
    pub(super) class: String,
    pub(super) static_kpa: ByCase,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) limit_lps: Option<f64>,
}

/// A number in the three supply cases; absent where there is none.
#[derive(Serialize)]
pub(super) struct ByCase {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) low: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) normal: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) high: Option<f64>,
}

#[derive(Serialize)]
pub(super) struct ZoneRow {
    pub(super) id: Id,
    pub(super) label: String,
    pub(super) valve: Id,
    pub(super) members: Vec<Id>,
    pub(super) flow_lps: ByCase,
    pub(super) rated_flow_lps: f64,
    pub(super) valve_pressure_kpa: ByCase,
    pub(super) first_emitter_kpa: ByCase,
    pub(super) last_emitter_kpa: ByCase,
    pub(super) num_emitters: usize,
    pub(super) low_quarter_uniformity: ByCase,
    pub(super) converged: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) readings: Option<ReadingsRow>,
}

#[derive(Serialize)]
pub(super) struct NodeRow {
    pub(super) id: String,
    pub(super) zone: Id,
    pub(super) pressure_kpa: f64,
    pub(super) case: &'static str,
}

#[derive(Serialize)]
pub(super) struct PipeRow {
    pub(super) id: String,
    pub(super) zone: Id,
    pub(super) flow_lps: f64,
    pub(super) velocity_mps: f64,
    pub(super) headloss_m: f64,
    pub(super) case: &'static str,
}

#[derive(Serialize)]
pub(super) struct DeviceRow {
    pub(super) id: String,
    pub(super) zone: Id,
    pub(super) part: String,
    pub(super) pressure_kpa: Vec<f64>,
    pub(super) flow_lps: Vec<f64>,
    pub(super) case: &'static str,
}

#[derive(Serialize)]
pub(super) struct VerdictRow {
    pub(super) id: Id,
    pub(super) planting: usize,
    pub(super) water: Id,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) zone: Option<Id>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) crop: Option<String>,
    pub(super) name: String,
    pub(super) method: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) contact: Option<Json>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) overlap_m2: Option<f64>,
    pub(super) verdict: Json,
    pub(super) words: String,
    pub(super) layer: String,
    pub(super) reason: String,
    pub(super) citation: Citation,
    pub(super) also: Vec<MatchRow>,
    pub(super) advisory: Vec<MatchRow>,
    pub(super) conditions: Vec<String>,
    pub(super) missing: Vec<String>,
    pub(super) causes: Vec<CauseRow>,
    pub(super) changes: Vec<ChangeRow>,
    pub(super) cautious_reading: bool,
    pub(super) ask: String,
}

#[derive(Serialize)]
pub(super) struct MatchRow {
    pub(super) verdict: Json,
    pub(super) reason: String,
    pub(super) citation: Citation,
}

#[derive(Serialize)]
pub(super) struct CauseRow {
    pub(super) id: Id,
    pub(super) sentence: String,
}

#[derive(Serialize)]
pub(super) struct ChangeRow {
    pub(super) what: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) verdict: Option<Json>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) method: Option<String>,
    #[serde(rename = "move", skip_serializing_if = "Option::is_none")]
    pub(super) moved: Option<MoveRow>,
}

#[derive(Serialize)]
pub(super) struct MoveRow {
    pub(super) id: Id,
    pub(super) x_m: f64,
    pub(super) y_m: f64,
}

#[derive(Serialize)]
pub(super) struct FindingRow {
    pub(super) id: String,
    pub(super) check: String,
    pub(super) severity: Json,
    pub(super) subjects: Vec<Id>,
    pub(super) sentence: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) measured: Option<MeasureRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) limit: Option<MeasureRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) citation: Option<Citation>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) settled: Option<SettledRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) fixes: Option<Vec<FixRow>>,
}

#[derive(Serialize)]
pub(super) struct SettledRow {
    pub(super) stands: bool,
    pub(super) reason: String,
    pub(super) name: String,
    pub(super) on: String,
    pub(super) evidence: String,
}

#[derive(Serialize)]
pub(super) struct MeasureRow {
    pub(super) value: f64,
    pub(super) unit: &'static str,
}

#[derive(Serialize)]
pub(super) struct FixRow {
    pub(super) what: String,
    pub(super) outcome: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) then: Option<MeasureRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) brings: Option<String>,
}

#[derive(Serialize)]
pub(super) struct PartRow {
    pub(super) id: String,
    pub(super) group: &'static str,
    pub(super) name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) pieces: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) length_m: Option<f64>,
    pub(super) objects: Vec<Id>,
}

#[derive(Serialize)]
pub(super) struct AssumptionRow {
    pub(super) id: &'static str,
    pub(super) subjects: Vec<Id>,
    pub(super) sentence: String,
}

/// A row about something of a zone.
pub(super) trait Named {
    /// Its id.
    fn id(&self) -> &str;
    /// The zone it is told for.
    fn zone(&self) -> Id;
}

macro_rules! named {
    ($($Row:ty),*) => {
        $(impl Named for $Row {
            fn id(&self) -> &str {
                &self.id
            }
            fn zone(&self) -> Id {
                self.zone
            }
        })*
    };
}
named!(NodeRow, PipeRow, DeviceRow);
