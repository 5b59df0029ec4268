//! From roles to ink: colours from the token file, line widths and patterns in printed millimetres, hatches. The only place
//! where a meaning becomes a look; every meaning has a pattern, a width or letters besides its colour.

use std::sync::LazyLock;

use super::Role;
use crate::model::{BedUse, FeatureKind, PipeRole, WaterKind};
use crate::rulebook::Verdict;
use crate::units::Pressure;

/// A colour, opaque.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Colour {
    /// Red.
    pub r: u8,
    /// Green.
    pub g: u8,
    /// Blue.
    pub b: u8,
}

impl Colour {
    /// Black, for a token that is missing: it is seen at once, and a test looks for it.
    const MISSING: Self = Self { r: 0, g: 0, b: 0 };

    /// `#RRGGBB`.
    #[must_use]
    pub fn hex(self) -> String {
        format!("#{:02X}{:02X}{:02X}", self.r, self.g, self.b)
    }

    fn parse(text: &str) -> Option<Self> {
        let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6)?;
        let part = |from: usize| u8::from_str_radix(digits.get(from..from + 2)?, 16).ok();
        Some(Self {
            r: part(0)?,
            g: part(2)?,
            b: part(4)?,
        })
    }

    /// A colour between two, `share` of the way.
    #[must_use]
    pub fn between(self, other: Self, share: f64) -> Self {
        let mix = |a: u8, b: u8| {
            let value = f64::from(a) + (f64::from(b) - f64::from(a)) * share.clamp(0.0, 1.0);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "between two bytes"
            )]
            let byte = value.round() as u8;
            byte
        };
        Self {
            r: mix(self.r, other.r),
            g: mix(self.g, other.g),
            b: mix(self.b, other.b),
        }
    }
}

/// A complete set of colours: light (also for paper) or dark.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Theme {
    /// Ink on warm paper; also what is printed.
    #[default]
    Light,
    /// The same at night.
    Dark,
}

const FILE: &str = include_str!("../../data/tokens.json");

static TOKENS: LazyLock<serde_json::Value> =
    // A broken file makes every colour black, which `every_token_is_a_colour` reports.
    LazyLock::new(|| serde_json::from_str(FILE).unwrap_or(serde_json::Value::Null));

impl Theme {
    const fn key(self) -> &'static str {
        match self {
            Self::Light => "light",
            Self::Dark => "dark",
        }
    }

    /// The colour of a token.
    #[must_use]
    pub fn token(self, name: &str) -> Colour {
        let value = TOKENS.get(self.key()).and_then(|tokens| tokens.get(name));
        value
            .and_then(|value| value.as_str())
            .and_then(Colour::parse)
            .unwrap_or(Colour::MISSING)
    }

    /// The colours of a token that is a list.
    #[must_use]
    pub fn ramp(self, name: &str) -> Vec<Colour> {
        let value = TOKENS.get(self.key()).and_then(|tokens| tokens.get(name));
        let list = value.and_then(|value| value.as_array());
        list.into_iter()
            .flatten()
            .filter_map(|item| Colour::parse(item.as_str()?))
            .collect()
    }

    /// The colour of a pressure on the continuous band: the five tokens lie at the middles of their classes.
    #[must_use]
    pub fn pressure(self, pressure: Pressure) -> Colour {
        let ramp = self.ramp("pressure5");
        let psi = pressure.psi();
        let (Some(first), Some(last)) = (ramp.first(), ramp.last()) else {
            return Colour::MISSING;
        };
        if psi <= BAND_STOPS_PSI[0] {
            return *first;
        }
        for (index, pair) in BAND_STOPS_PSI.windows(2).enumerate() {
            if psi <= pair[1] {
                let share = (psi - pair[0]) / (pair[1] - pair[0]);
                let (Some(low), Some(high)) = (ramp.get(index), ramp.get(index + 1)) else {
                    return *last;
                };
                return low.between(*high, share);
            }
        }
        *last
    }
}

/// Pressures at which the five colours of the band stand: the middles of the classes of `tokens.json`.
pub const BAND_STOPS_PSI: [f64; 5] = [7.5, 22.5, 40.0, 65.0, 90.0];
/// The pressure at the end of the band.
pub const BAND_END: Pressure = Pressure::from_psi(100.0);

/// A pattern inside an area.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Hatch {
    /// Parallel lines at 45°, this many millimetres apart.
    Diagonal(f64),
    /// Crossing lines at ±45°.
    Cross(f64),
    /// Dots.
    Dots(f64),
    /// Dots and parallel lines.
    DotsAndDiagonal(f64),
}

/// A line: width and dash pattern in printed millimetres.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Pen {
    /// Colour.
    pub colour: Colour,
    /// Width.
    pub width_mm: f64,
    /// Lengths of dashes and gaps; empty for a solid line.
    pub dash_mm: &'static [f64],
}

/// How a mark is drawn.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Ink {
    /// Fill of areas and dots, colour of letters.
    pub fill: Option<Colour>,
    /// Outline or line.
    pub pen: Option<Pen>,
    /// Pattern over the fill, in the colour of the pen.
    pub hatch: Option<Hatch>,
    /// Bold letters.
    pub bold: bool,
}

/// The ink of a role.
#[must_use]
pub fn ink(role: Role, theme: Theme) -> Ink {
    let token = |name: &str| theme.token(name);
    let pen = |name: &str, width_mm: f64, dash_mm: &'static [f64]| {
        Some(Pen {
            colour: token(name),
            width_mm,
            dash_mm,
        })
    };
    let area = |fill: &str, line: &str, width_mm: f64| Ink {
        fill: Some(token(fill)),
        pen: pen(line, width_mm, &[]),
        ..Ink::default()
    };
    match role {
        Role::Ground => Ink {
            fill: Some(token("canvas")),
            ..Ink::default()
        },
        Role::PropertyLine => Ink {
            pen: pen("ink2", 0.5, &[18.0, 2.0, 0.2, 2.0, 0.2, 2.0]),
            ..Ink::default()
        },
        Role::Feature(kind) => match kind {
            FeatureKind::Building => area("building", "ink2", 0.5),
            FeatureKind::HardSurface => Ink {
                hatch: Some(Hatch::Diagonal(6.0)),
                ..area("hard", "field", 0.13)
            },
            FeatureKind::Pool | FeatureKind::WaterBody => area("water", "ink2", 0.25),
            FeatureKind::EatingArea | FeatureKind::PlayArea | FeatureKind::PetArea => Ink {
                pen: pen("ink2", 0.25, &[1.0, 1.0]),
                ..area("keepOut", "ink2", 0.25)
            },
            FeatureKind::NeighbourLand => Ink {
                pen: pen("ink2", 0.25, &[4.0, 2.0]),
                ..Ink::default()
            },
        },
        Role::Planted(usage) => match usage {
            BedUse::Food => area("foodBed", "ink2", 0.35),
            BedUse::Lawn => area("lawn", "ink2", 0.25),
            BedUse::Ornamental => area("ornamental", "ink2", 0.25),
        },
        Role::Canopy => Ink {
            pen: pen("ink2", 0.25, &[]),
            fill: Some(token("lawn")),
            ..Ink::default()
        },
        Role::Verdict(verdict) => {
            let (colour, hatch, width_mm, dash): (&str, Option<Hatch>, f64, &'static [f64]) =
                match verdict {
                    Verdict::Prohibit => ("notAllowed", Some(Hatch::Cross(4.0)), 0.7, &[4.0, 1.5]),
                    Verdict::Ask => ("unknown", Some(Hatch::Dots(3.0)), 0.35, &[]),
                    Verdict::IfProcessed => {
                        ("unknown", Some(Hatch::DotsAndDiagonal(6.0)), 0.35, &[])
                    }
                    Verdict::Conditions => ("conditions", Some(Hatch::Diagonal(8.0)), 0.35, &[]),
                    Verdict::NoConflict => ("allowed", None, 0.35, &[]),
                };
            Ink {
                pen: pen(colour, width_mm, dash),
                hatch,
                ..Ink::default()
            }
        }
        Role::Wetted => Ink {
            pen: pen("reclaimed", 0.18, &[0.4, 1.2]),
            hatch: None,
            ..Ink::default()
        },
        Role::Pipe(water, pipe_role) => Ink {
            pen: Some(pipe_pen(token(water_token(water)), water, pipe_role)),
            ..Ink::default()
        },
        Role::PipePressure(pressure, pipe_role) => Ink {
            pen: Some(pipe_pen(
                theme.pressure(pressure),
                WaterKind::Reclaimed,
                pipe_role,
            )),
            ..Ink::default()
        },
        Role::EmitterLine(water) => Ink {
            pen: pen(water_token(water), 0.35, &[]),
            ..Ink::default()
        },
        Role::EmitterLinePressure(pressure) => {
            let colour = theme.pressure(pressure);
            Ink {
                pen: Some(Pen {
                    colour,
                    width_mm: 0.5,
                    dash_mm: &[],
                }),
                ..Ink::default()
            }
        }
        Role::Emitter(water) => Ink {
            fill: Some(token(water_token(water))),
            ..Ink::default()
        },
        Role::Device(water) => Ink {
            fill: Some(token("canvas")),
            pen: pen(water_token(water), 0.35, &[]),
            ..Ink::default()
        },
        Role::SiteMark => Ink {
            fill: Some(token("canvas")),
            pen: pen("ink", 0.35, &[]),
            ..Ink::default()
        },
        Role::Name => Ink {
            fill: Some(token("ink")),
            bold: true,
            ..Ink::default()
        },
        Role::Number => Ink {
            fill: Some(token("ink2")),
            ..Ink::default()
        },
        Role::WaterCode(water) => Ink {
            fill: Some(token(if water == WaterKind::Potable {
                "potableText"
            } else {
                water_token(water)
            })),
            bold: true,
            ..Ink::default()
        },
        Role::NoteOpen => Ink {
            fill: Some(token("markOpen")),
            pen: pen("markOpen", 0.35, &[]),
            bold: true,
            ..Ink::default()
        },
        Role::NoteClosed => Ink {
            fill: Some(token("markClosed")),
            pen: pen("markClosed", 0.35, &[]),
            ..Ink::default()
        },
    }
}

/// The colour token of a water.
#[must_use]
pub const fn water_token(water: WaterKind) -> &'static str {
    match water {
        WaterKind::Reclaimed => "reclaimed",
        WaterKind::Potable => "potable",
        WaterKind::OtherNonPotable => "otherNonPotable",
    }
}

/// The letters that tell a water on its runs.
#[must_use]
pub const fn water_code(water: WaterKind) -> &'static str {
    match water {
        WaterKind::Reclaimed => "RW",
        WaterKind::Potable => "PW",
        WaterKind::OtherNonPotable => "NP",
    }
}

/// Reclaimed runs are solid, drinking water is dashed, other water is dash-dot: no two waters differ by colour alone.
fn pipe_pen(colour: Colour, water: WaterKind, role: PipeRole) -> Pen {
    let dash_mm: &'static [f64] = match water {
        WaterKind::Reclaimed => &[],
        WaterKind::Potable => &[8.0, 2.0],
        WaterKind::OtherNonPotable => &[6.0, 2.0, 0.4, 2.0],
    };
    let width_mm = match (water, role) {
        (WaterKind::Reclaimed, PipeRole::Main | PipeRole::Service) => 0.7,
        _ => 0.5,
    };
    Pen {
        colour,
        width_mm,
        dash_mm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_token_is_a_colour_in_both_themes() {
        let themes = TOKENS.as_object().unwrap();
        let (light, dark) = (
            themes["light"].as_object().unwrap(),
            themes["dark"].as_object().unwrap(),
        );
        assert!(light.keys().eq(dark.keys()));
        for value in light.values().chain(dark.values()) {
            let texts = value
                .as_array()
                .cloned()
                .unwrap_or_else(|| vec![value.clone()]);
            assert!(
                texts
                    .iter()
                    .all(|text| Colour::parse(text.as_str().unwrap()).is_some()),
                "{value}"
            );
        }
    }

    #[test]
    fn the_band_meets_its_tokens() {
        for theme in [Theme::Light, Theme::Dark] {
            for (psi, colour) in BAND_STOPS_PSI.into_iter().zip(theme.ramp("pressure5")) {
                assert_eq!(theme.pressure(Pressure::from_psi(psi)), colour);
            }
        }
    }
}
