//! The shape of the table of validation cases. It reads; it neither builds nor judges.

use aubergine_core::hydraulics::{Pipe, Water};
use aubergine_core::units::{Density, KinematicViscosity, Length, Temperature};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    pub case: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    pub id: String,
    pub kind: String,
    pub source: String,
    pub basis: String,
    pub reason: String,
    /// What, where, value.
    pub expected: Vec<(String, String, f64)>,
    pub within: Option<f64>,
    pub relative: Option<f64>,
    pub pressure_within_m: Option<f64>,
    pub flow_relative: Option<f64>,
    pub law: Option<String>,
    #[serde(default)]
    pub fitted_too: bool,
    /// Water by its properties; otherwise it is that of a temperature.
    pub water: Option<WaterOf>,
    pub water_at: Option<WaterAt>,
    pub friction: Option<FrictionInput>,
    pub pipe: Option<PipeInput>,
    pub outlet: Option<OutletInput>,
    pub supply: Option<SupplyInput>,
    pub multiple_outlets: Option<MultipleOutlets>,
    pub surge: Option<SurgeInput>,
    pub orifice: Option<OrificeInput>,
    pub run: Option<RunInput>,
    pub part: Option<PartInput>,
    pub lateral: Option<Lateral>,
    pub bed: Option<Bed>,
    pub network: Option<NetworkInput>,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(deny_unknown_fields)]
pub struct WaterOf {
    pub viscosity_m2s: f64,
    pub density_kgm3: f64,
}

impl WaterOf {
    pub fn water(self) -> Water {
        Water {
            density: Density::from_kilograms_per_cubic_metre(self.density_kgm3),
            viscosity: KinematicViscosity::from_square_metres_per_second(self.viscosity_m2s),
        }
    }
}

#[derive(Deserialize, Clone, Copy)]
#[serde(deny_unknown_fields)]
pub struct WaterAt {
    pub celsius: f64,
}

impl Default for WaterAt {
    fn default() -> Self {
        Self { celsius: 20.0 }
    }
}

impl WaterAt {
    pub fn water(self) -> Water {
        Water::at(Temperature::from_celsius(self.celsius))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FrictionInput {
    pub reynolds: f64,
    pub relative_roughness: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeInput {
    pub name: Option<String>,
    pub from: Option<String>,
    pub to: Option<String>,
    pub bore_in: Option<f64>,
    pub bore_m: Option<f64>,
    pub length_ft: Option<f64>,
    pub length_m: Option<f64>,
    pub roughness_m: f64,
    pub equivalent_ft: Option<f64>,
    pub fittings: Option<f64>,
    pub flow_gpm: Option<f64>,
}

impl PipeInput {
    pub fn pipe(&self) -> Pipe {
        let bore = self
            .bore_in
            .map(Length::from_inches)
            .or(self.bore_m.map(Length::from_metres));
        let length = self
            .length_ft
            .map(Length::from_feet)
            .or(self.length_m.map(Length::from_metres));
        Pipe {
            length: length.expect("a length"),
            bore: bore.expect("a bore"),
            roughness: Length::from_metres(self.roughness_m),
            fittings: self.fittings.unwrap_or(0.0),
            equivalent: Length::from_feet(self.equivalent_ft.unwrap_or(0.0)),
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutletInput {
    pub flow_gpm: f64,
    pub at_head_ft: f64,
    pub exponent: f64,
    pub head_ft: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SupplyInput {
    pub static_psi: f64,
    pub residual_psi: f64,
    pub flow_gpm: f64,
    pub exponent: f64,
    pub at_psi: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MultipleOutlets {
    pub num: usize,
    pub exponent: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Emitter {
    pub flow_gph: f64,
    pub at_psi: Option<f64>,
    pub exponent: Option<f64>,
    pub minimum_psi: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lateral {
    pub num: usize,
    pub bore_in: f64,
    pub spacing_ft: f64,
    #[serde(default)]
    pub equivalent_ft: f64,
    #[serde(default)]
    pub slope: f64,
    pub inlet_psi: f64,
    pub emitter: Emitter,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bed {
    pub num_laterals: usize,
    pub num_emitters: usize,
    pub header_bore_in: f64,
    pub header_spacing_ft: f64,
    pub bore_in: f64,
    pub spacing_ft: f64,
    pub take_off: f64,
    pub inlet_psi: f64,
    #[serde(default)]
    pub slope: f64,
    /// `centre` for two branches from the inlet; otherwise fed at one end.
    pub fed: Option<String>,
    /// Length of a pipe from the last take-off back to the inlet.
    pub return_ft: Option<f64>,
    pub emitter: Emitter,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NetworkInput {
    pub junctions: Vec<JunctionInput>,
    #[serde(default)]
    pub pipes: Vec<PipeInput>,
    #[serde(default)]
    pub devices: Vec<DeviceInput>,
    #[serde(default)]
    pub outlets: Vec<OutletAt>,
    pub sources: Vec<SourceAt>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JunctionInput {
    pub name: String,
    pub z_m: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceInput {
    pub name: String,
    pub from: String,
    pub to: String,
    pub opening_psi: Option<f64>,
    pub psi_per_gpm2: Option<f64>,
    pub cv: Option<f64>,
    #[serde(default)]
    pub checked: bool,
    #[serde(default)]
    pub closed: bool,
    /// Makes it a regulator.
    pub set_psi: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutletAt {
    pub at: String,
    pub fixed_gpm: Option<f64>,
    pub fixed_m3h: Option<f64>,
    pub flow_gpm: Option<f64>,
    pub at_psi: Option<f64>,
    pub exponent: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourceAt {
    pub at: String,
    /// Fixed head above the datum.
    pub head_m: Option<f64>,
    /// Pressure at the junction.
    pub static_psi: Option<f64>,
    pub residual_psi: Option<f64>,
    pub flow_gpm: Option<f64>,
    pub exponent: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SurgeInput {
    pub bulk_gpa: Option<f64>,
    pub modulus_gpa: f64,
    pub bore_mm: f64,
    pub wall_mm: f64,
    pub velocity_mps: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrificeInput {
    pub bore_in: f64,
    pub discharge: f64,
    pub head_ft: Option<f64>,
    pub psi: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunInput {
    pub bore_in: f64,
    pub spacing_in: f64,
    pub gph: f64,
    pub at_psi: f64,
    pub inlet_psi: f64,
    pub variation: f64,
}

/// What a case about a single part gives; each asks for a few of these only.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PartInput {
    pub bore_in: Option<f64>,
    pub to_in: Option<f64>,
    pub stress_psi: Option<f64>,
    pub stress_mpa: Option<f64>,
    pub ratio: Option<f64>,
    pub fahrenheit: Option<f64>,
    pub fps: Option<f64>,
    pub gpm: Option<f64>,
    pub cv: Option<f64>,
    pub device: Option<String>,
}
