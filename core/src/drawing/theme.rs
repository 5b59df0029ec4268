//! From roles to ink: colours from the token file, line widths and patterns in printed millimetres, hatches. The only place
//! where a meaning becomes a look; every meaning has a pattern, a width or letters besides its colour.

use std::sync::LazyLock;

pub use super::colour::Colour;
use super::{Footing, Role};
use crate::model::{BedUse, FeatureKind, PipeRole, WaterKind};
use crate::rulebook::Verdict;
use crate::units::{Angle, Pressure};

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
    /// Small tufts: what is mown.
    Tufts,
    /// Short pieces of two furrows along the rows: what is grown to be eaten.
    Furrows,
    /// Sparse open rings: what is planted to be looked at.
    Rings,
    /// Ripples: open water.
    Waves,
    /// Slanting strokes inside the edge: where water must not go.
    Fringe,
    /// Long and short strokes by turns, square to the edge: ground that steps there.
    Steps,
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
    /// Pattern over the fill, its colour, and the way its rows run.
    pub hatch: Option<(Hatch, Colour, Angle)>,
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
    // The marks of an area are quieter than its edge: lines and letters are read over them.
    let marked = |fill: &str, width_mm: f64, hatch: Hatch, rows: Angle| {
        let quiet = token(fill).between(token("ink2"), 0.5);
        Ink {
            hatch: Some((hatch, quiet, rows)),
            ..area(fill, "ink2", width_mm)
        }
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
        Role::Fall => Ink {
            fill: Some(token("canvas")),
            pen: pen("ink2", 0.25, &[]),
            ..Ink::default()
        },
        Role::SurveyEdge => Ink {
            pen: pen("ink2", 0.18, &[3.0, 1.2, 0.8, 1.2]),
            ..Ink::default()
        },
        Role::Feature(kind) => match kind {
            FeatureKind::Terrace => Ink {
                pen: pen("ink2", 0.35, &[]),
                hatch: Some((Hatch::Steps, token("ink2"), Angle::ZERO)),
                ..Ink::default()
            },
            FeatureKind::Building => area("building", "ink2", 0.5),
            FeatureKind::HardSurface => Ink {
                hatch: Some((Hatch::Diagonal(6.0), token("field"), Angle::ZERO)),
                ..area("hard", "field", 0.13)
            },
            FeatureKind::Pool | FeatureKind::WaterBody => {
                marked("water", 0.25, Hatch::Waves, Angle::ZERO)
            }
            FeatureKind::EatingArea | FeatureKind::PlayArea | FeatureKind::PetArea => Ink {
                pen: pen("ink2", 0.25, &[1.0, 1.0]),
                ..marked("keepOut", 0.25, Hatch::Fringe, Angle::ZERO)
            },
            FeatureKind::NeighbourLand => Ink {
                pen: pen("ink2", 0.25, &[4.0, 2.0]),
                ..Ink::default()
            },
        },
        Role::Planted(usage, rows) => match usage {
            BedUse::Food => marked("foodBed", 0.35, Hatch::Furrows, rows),
            BedUse::Lawn => marked("lawn", 0.25, Hatch::Tufts, rows),
            BedUse::Ornamental => marked("ornamental", 0.25, Hatch::Rings, rows),
        },
        Role::Canopy => Ink {
            pen: pen("ink2", 0.25, &[]),
            fill: Some(token("lawn")),
            ..Ink::default()
        },
        Role::Verdict(verdict, footing) => {
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
                pen: pen(colour, width_mm, dashed(footing, &[1.6, 1.2], dash)),
                hatch: hatch.map(|hatch| (hatch, token(colour), Angle::ZERO)),
                ..Ink::default()
            }
        }
        Role::Rate(band, footing) => {
            let ramp = theme.ramp("coverage6");
            let fill = ramp.get(usize::from(band.step)).or(ramp.last()).copied();
            Ink {
                fill: Some(fill.unwrap_or(Colour::MISSING)),
                pen: pen("ink2", 0.13, dashed(footing, &[1.6, 1.2], &[])),
                hatch: (band.spot).map(|spot| (Hatch::of(spot), token("ink"), Angle::ZERO)),
                ..Ink::default()
            }
        }
        Role::Wetted(footing) => Ink {
            pen: pen("reclaimed", 0.18, dashed(footing, &[2.4, 1.4], &[0.4, 1.2])),
            ..Ink::default()
        },
        Role::Pipe(water, pipe_role) => Ink {
            pen: Some(pipe_pen(token(water_token(water)), water, pipe_role)),
            ..Ink::default()
        },
        Role::PipePressure(pressure, water, pipe_role, footing) => {
            let solid = pipe_pen(theme.pressure(pressure), water, pipe_role);
            Ink {
                pen: Some(Pen {
                    dash_mm: dashed(footing, ASSUMED_DASH, solid.dash_mm),
                    ..solid
                }),
                ..Ink::default()
            }
        }
        Role::EmitterLine(water) => Ink {
            pen: pen(water_token(water), 0.35, &[]),
            ..Ink::default()
        },
        Role::EmitterLinePressure(pressure, footing) => {
            let colour = theme.pressure(pressure);
            Ink {
                pen: Some(Pen {
                    colour,
                    width_mm: 0.5,
                    dash_mm: dashed(footing, ASSUMED_DASH, &[]),
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
        Role::Number | Role::Detail => Ink {
            fill: Some(token("ink2")),
            ..Ink::default()
        },
        Role::RunCode(water, ..) => Ink {
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

/// Dashes of what rests on an assumed supply: shorter than those of any water.
const ASSUMED_DASH: &[f64] = &[2.2, 1.2];

const fn dashed(
    footing: Footing,
    assumed: &'static [f64],
    stated: &'static [f64],
) -> &'static [f64] {
    match footing {
        Footing::Assumed => assumed,
        Footing::Stated => stated,
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
    fn every_kind_of_area_is_told_without_its_colour() {
        let features = [
            FeatureKind::Building,
            FeatureKind::HardSurface,
            FeatureKind::WaterBody,
            FeatureKind::PlayArea,
            FeatureKind::NeighbourLand,
            FeatureKind::Terrace,
        ];
        let planted = [BedUse::Food, BedUse::Lawn, BedUse::Ornamental];
        let roles: Vec<Role> = planted
            .map(|usage| Role::Planted(usage, Angle::ZERO))
            .into_iter()
            .chain(features.map(Role::Feature))
            .collect();
        let told = |role: Role| {
            let look = ink(role, Theme::Light);
            let pen = look.pen.map(|pen| (pen.width_mm, pen.dash_mm));
            (look.hatch.map(|(hatch, ..)| hatch), pen)
        };
        for (index, role) in roles.iter().enumerate() {
            for other in &roles[..index] {
                assert_ne!(told(*role), told(*other), "{role:?} {other:?}");
            }
        }
        for role in planted.map(|usage| Role::Planted(usage, Angle::ZERO)) {
            assert!(told(role).0.is_some(), "{role:?} has no marks of its own");
        }
    }

    #[test]
    fn what_is_assumed_is_dashed_and_like_no_water() {
        let pressure = Pressure::from_psi(20.0);
        let kind = WaterKind::Reclaimed;
        let pairs = [Footing::Stated, Footing::Assumed].map(|footing| {
            [
                Role::PipePressure(pressure, kind, PipeRole::Main, footing),
                Role::EmitterLinePressure(pressure, footing),
                Role::Verdict(Verdict::Conditions, footing),
                Role::Verdict(Verdict::Prohibit, footing),
                Role::Wetted(footing),
            ]
            .map(|role| ink(role, Theme::Light).pen.unwrap().dash_mm)
        });
        let waters = [
            WaterKind::Reclaimed,
            WaterKind::Potable,
            WaterKind::OtherNonPotable,
        ]
        .map(|water| {
            ink(Role::Pipe(water, PipeRole::Main), Theme::Light)
                .pen
                .unwrap()
                .dash_mm
        });
        for (stated, assumed) in pairs[0].iter().zip(pairs[1]) {
            assert!(!assumed.is_empty() && *stated != assumed);
            assert!(!waters.contains(&assumed));
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
