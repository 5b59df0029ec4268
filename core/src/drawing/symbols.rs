//! Symbols of devices and places: our shapes, in a cell of 24 units with y down, drawn by every sink alike.
//!
//! Nodes are round, barriers are square, devices that water flows through keep the pipe line visible, hazards have
//! corners. Each carries its code beside it, so that shape alone is never asked to tell it apart.

use crate::model::{DeviceKind, EmissionKind, MarkKind, OutletKind};
use crate::units::Angle;

/// A symbol.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Symbol {
    /// Where a water comes in.
    PointOfConnection,
    /// A flow-through device.
    Device(DeviceKind),
    /// A single emission device.
    Emission(EmissionKind),
    /// An outlet.
    Outlet(OutletKind),
    /// A well, entry, test point.
    Site(MarkKind),
    /// A warning sign.
    Sign,
    /// A tree's stem.
    Tree,
    /// A marked crossing.
    Crossing,
    /// A spot height.
    Height,
    /// Which way the ground falls: to the right, until it is turned.
    Fall,
    /// A note of a reviewer.
    Note,
    /// The verdict on a bed.
    Verdict(crate::rulebook::Verdict),
}

/// A stroke or a filled figure of a symbol, in cell units from its middle, y down.
#[derive(Clone, PartialEq, Debug)]
pub enum Stroke {
    /// An open chain of points.
    Line(Vec<(f64, f64)>),
    /// A closed outline, not filled.
    Outline(Vec<(f64, f64)>),
    /// A closed outline, filled.
    Filled(Vec<(f64, f64)>),
    /// A circle, by middle and radius; filled or not.
    Circle {
        /// Middle.
        at: (f64, f64),
        /// Radius.
        radius: f64,
        /// Filled.
        filled: bool,
    },
}

/// Side of the cell that symbols are drawn in.
pub const CELL: f64 = 24.0;
/// Width of strokes in cell units.
pub const STROKE: f64 = 1.8;

impl Symbol {
    /// The letters beside the symbol on paper.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::PointOfConnection => "POC",
            Self::Device(kind) => match kind {
                DeviceKind::IsolationValve => "ISO",
                DeviceKind::Meter => "MTR",
                DeviceKind::BackflowReducedPressure => "RP",
                DeviceKind::BackflowDoubleCheck => "DC",
                DeviceKind::BackflowDualCheck => "DU",
                DeviceKind::BackflowPressureVacuumBreaker => "PVB",
                DeviceKind::BackflowAtmosphericVacuumBreaker => "AVB",
                DeviceKind::AirRelief => "AR",
                DeviceKind::AirGap => "AG",
                DeviceKind::MasterValve => "MV",
                DeviceKind::ZoneValve => "ZV",
                DeviceKind::Filter => "FLT",
                DeviceKind::PressureRegulator => "PR",
                DeviceKind::CheckValve => "CV",
                DeviceKind::Manifold => "MAN",
            },
            Self::Emission(kind) => match kind {
                EmissionKind::Emitter => "EM",
                EmissionKind::Bubbler => "BUB",
                EmissionKind::MicroSpray => "MS",
                EmissionKind::Spray => "SPR",
                EmissionKind::Rotor => "ROT",
            },
            Self::Outlet(kind) => match kind {
                OutletKind::HoseBibb => "HB",
                OutletKind::QuickCoupler => "QC",
                OutletKind::HandWash => "HW",
                OutletKind::DrinkingFountain => "DF",
            },
            Self::Site(kind) => match kind {
                MarkKind::DomesticWell | MarkKind::PublicWell | MarkKind::OtherWell => "WELL",
                MarkKind::Entry => "ENTRY",
                MarkKind::TestPoint => "TP",
            },
            Self::Sign => "SGN",
            Self::Crossing => "X",
            Self::Height => "LVL",
            Self::Tree | Self::Fall | Self::Note | Self::Verdict(_) => "",
        }
    }

    /// The words for it in a legend.
    #[must_use]
    pub fn name(self) -> &'static str {
        crate::text::get(self.key())
    }

    const fn key(self) -> &'static str {
        match self {
            Self::PointOfConnection => "symbol.point_of_connection",
            Self::Device(kind) => match kind {
                DeviceKind::IsolationValve => "symbol.isolation_valve",
                DeviceKind::Meter => "symbol.meter",
                DeviceKind::BackflowReducedPressure => "symbol.reduced_pressure_backflow_assembly",
                DeviceKind::BackflowDoubleCheck => "symbol.double_check_backflow_assembly",
                DeviceKind::BackflowDualCheck => "symbol.dual_check",
                DeviceKind::BackflowPressureVacuumBreaker => "symbol.pressure_vacuum_breaker",
                DeviceKind::BackflowAtmosphericVacuumBreaker => "symbol.atmospheric_vacuum_breaker",
                DeviceKind::AirRelief => "symbol.air_relief",
                DeviceKind::AirGap => "symbol.air_gap",
                DeviceKind::MasterValve => "symbol.master_valve",
                DeviceKind::ZoneValve => "symbol.zone_valve",
                DeviceKind::Filter => "symbol.filter",
                DeviceKind::PressureRegulator => "symbol.pressure_regulator",
                DeviceKind::CheckValve => "symbol.check_valve",
                DeviceKind::Manifold => "symbol.manifold",
            },
            Self::Emission(kind) => match kind {
                EmissionKind::Emitter => "symbol.single_emitter",
                EmissionKind::Bubbler => "symbol.bubbler",
                EmissionKind::MicroSpray => "symbol.micro_spray",
                EmissionKind::Spray => "symbol.spray_head",
                EmissionKind::Rotor => "symbol.rotor",
            },
            Self::Outlet(kind) => match kind {
                OutletKind::HoseBibb => "symbol.hose_outlet",
                OutletKind::QuickCoupler => "symbol.quick_coupler",
                OutletKind::HandWash => "symbol.hand_wash_outlet",
                OutletKind::DrinkingFountain => "symbol.drinking_fountain",
            },
            Self::Site(kind) => match kind {
                MarkKind::DomesticWell | MarkKind::PublicWell | MarkKind::OtherWell => {
                    "symbol.well"
                }
                MarkKind::Entry => "symbol.entry",
                MarkKind::TestPoint => "symbol.test_point",
            },
            Self::Sign => "symbol.warning_sign",
            Self::Tree => "symbol.tree",
            Self::Crossing => "symbol.marked_crossing",
            Self::Height => "symbol.spot_height",
            Self::Fall => "symbol.fall",
            Self::Note => "symbol.review_note",
            Self::Verdict(_) => "symbol.verdict",
        }
    }

    /// Its strokes, turned anticlockwise around its middle.
    #[must_use]
    pub fn turned(self, turn: Angle) -> Vec<Stroke> {
        let mut strokes = self.strokes();
        if turn == Angle::ZERO {
            return strokes;
        }
        let (sin, cos) = turn.radians().sin_cos();
        let place = |(x, y): (f64, f64)| (x * cos + y * sin, y * cos - x * sin);
        for stroke in &mut strokes {
            match stroke {
                Stroke::Line(points) | Stroke::Outline(points) | Stroke::Filled(points) => {
                    points.iter_mut().for_each(|point| *point = place(*point));
                }
                Stroke::Circle { at, .. } => *at = place(*at),
            }
        }
        strokes
    }

    /// Its strokes.
    #[must_use]
    pub fn strokes(self) -> Vec<Stroke> {
        use Stroke::{Circle, Filled, Line, Outline};
        let ring = |radius| Circle {
            at: (0.0, 0.0),
            radius,
            filled: false,
        };
        let dot = |radius| Circle {
            at: (0.0, 0.0),
            radius,
            filled: true,
        };
        let left = || vec![(-9.0, -6.0), (-9.0, 6.0), (0.0, 0.0)];
        let right = || vec![(9.0, -6.0), (9.0, 6.0), (0.0, 0.0)];
        let square = |half: f64| vec![(-half, -half), (half, -half), (half, half), (-half, half)];
        match self {
            Self::PointOfConnection => {
                let mut half: Vec<(f64, f64)> = arc(9.0, -90.0, 90.0);
                half.push((0.0, 9.0));
                vec![ring(9.0), Filled(half)]
            }
            Self::Device(kind) => match kind {
                DeviceKind::IsolationValve => vec![Outline(left()), Outline(right())],
                DeviceKind::MasterValve => {
                    vec![
                        Filled(left()),
                        Outline(right()),
                        Line(vec![(0.0, 0.0), (0.0, -9.0)]),
                        Line(vec![(-4.0, -9.0), (4.0, -9.0)]),
                    ]
                }
                DeviceKind::ZoneValve => {
                    let cap = vec![(-3.0, -11.0), (3.0, -11.0), (3.0, -6.0), (-3.0, -6.0)];
                    vec![
                        Filled(left()),
                        Filled(right()),
                        Line(vec![(0.0, 0.0), (0.0, -6.0)]),
                        Filled(cap),
                    ]
                }
                DeviceKind::Meter => {
                    vec![
                        ring(9.0),
                        Line(arc(5.5, -150.0, -30.0)),
                        Line(vec![(0.0, 1.0), (0.0, -5.5)]),
                    ]
                }
                DeviceKind::BackflowReducedPressure => vec![
                    Outline(vec![(-9.0, -7.0), (9.0, -7.0), (9.0, 7.0), (-9.0, 7.0)]),
                    Filled(vec![(-7.0, -4.0), (-7.0, 4.0), (-1.0, 0.0)]),
                    Filled(vec![(1.0, -4.0), (1.0, 4.0), (7.0, 0.0)]),
                    Line(vec![(0.0, 7.0), (0.0, 11.0)]),
                ],
                DeviceKind::BackflowDoubleCheck => vec![
                    Outline(vec![(-9.0, -7.0), (9.0, -7.0), (9.0, 7.0), (-9.0, 7.0)]),
                    Filled(vec![(-7.0, -4.0), (-7.0, 4.0), (-1.0, 0.0)]),
                    Filled(vec![(1.0, -4.0), (1.0, 4.0), (7.0, 0.0)]),
                ],
                DeviceKind::BackflowDualCheck => vec![
                    Outline(vec![(-9.0, -7.0), (9.0, -7.0), (9.0, 7.0), (-9.0, 7.0)]),
                    Outline(vec![(-7.0, -4.0), (-7.0, 4.0), (-1.0, 0.0)]),
                    Outline(vec![(1.0, -4.0), (1.0, 4.0), (7.0, 0.0)]),
                ],
                DeviceKind::BackflowPressureVacuumBreaker => vec![
                    Outline(vec![(-9.0, -7.0), (9.0, -7.0), (9.0, 7.0), (-9.0, 7.0)]),
                    Filled(vec![(-6.0, -4.0), (-6.0, 4.0), (0.0, 0.0)]),
                    Line(vec![(4.0, 3.0), (4.0, -11.0)]),
                ],
                DeviceKind::BackflowAtmosphericVacuumBreaker => vec![
                    Outline(vec![(-9.0, -7.0), (9.0, -7.0), (9.0, 7.0), (-9.0, 7.0)]),
                    Line(vec![(0.0, 3.0), (0.0, -11.0)]),
                    Line(vec![(-5.0, 3.0), (5.0, 3.0)]),
                ],
                DeviceKind::AirRelief => vec![
                    ring(5.0),
                    Line(vec![(0.0, -5.0), (0.0, -11.0)]),
                    Line(vec![(-3.0, -8.0), (0.0, -11.0), (3.0, -8.0)]),
                ],
                DeviceKind::AirGap => vec![
                    Line(vec![(0.0, -11.0), (0.0, -3.0)]),
                    Line(vec![(0.0, 4.0), (0.0, 11.0)]),
                    Circle {
                        at: (0.0, 0.5),
                        radius: 1.8,
                        filled: true,
                    },
                ],
                DeviceKind::Filter => vec![
                    Outline(vec![(0.0, -9.0), (9.0, 0.0), (0.0, 9.0), (-9.0, 0.0)]),
                    Line(vec![(-5.0, 3.0), (3.0, -5.0)]),
                    Line(vec![(-2.5, 5.5), (5.5, -2.5)]),
                ],
                DeviceKind::PressureRegulator => vec![
                    Outline(square(8.0)),
                    Line(vec![(-6.0, -4.0), (-1.0, -4.0), (1.0, 4.0), (6.0, 4.0)]),
                ],
                DeviceKind::CheckValve => {
                    vec![
                        Filled(vec![(-7.0, -6.0), (-7.0, 6.0), (4.0, 0.0)]),
                        Line(vec![(6.0, -7.0), (6.0, 7.0)]),
                    ]
                }
                DeviceKind::Manifold => vec![
                    Outline(vec![(-10.0, -3.0), (10.0, -3.0), (10.0, 3.0), (-10.0, 3.0)]),
                    Line(vec![(-6.0, 3.0), (-6.0, 8.0)]),
                    Line(vec![(0.0, 3.0), (0.0, 8.0)]),
                    Line(vec![(6.0, 3.0), (6.0, 8.0)]),
                ],
            },
            Self::Emission(kind) => match kind {
                EmissionKind::Emitter => vec![dot(2.8)],
                EmissionKind::Bubbler => vec![
                    dot(2.8),
                    Line(arc(6.0, 45.0, 135.0)),
                    Line(arc(9.0, 45.0, 135.0)),
                ],
                EmissionKind::MicroSpray => vec![dot(2.8), ring(6.0)],
                EmissionKind::Spray => vec![dot(3.4), Line(vec![(0.0, -3.4), (0.0, -8.0)])],
                EmissionKind::Rotor => vec![dot(3.4), Line(arc(8.0, -140.0, 140.0))],
            },
            Self::Outlet(kind) => match kind {
                OutletKind::HoseBibb => vec![
                    Outline(square(9.0)),
                    Line(vec![(-5.0, -1.0), (3.0, -1.0), (3.0, 5.0)]),
                    Line(vec![(-1.0, -1.0), (-1.0, -5.0)]),
                    Line(vec![(-4.0, -5.0), (2.0, -5.0)]),
                ],
                OutletKind::QuickCoupler => vec![
                    ring(8.0),
                    Filled(vec![(-2.0, -2.0), (2.0, -2.0), (1.0, 5.0), (-1.0, 5.0)]),
                ],
                OutletKind::HandWash => vec![
                    ring(9.0),
                    Line(vec![(-4.0, -3.0), (2.0, -3.0), (2.0, 1.0)]),
                    Line(vec![(-5.0, 5.0), (5.0, 5.0)]),
                ],
                OutletKind::DrinkingFountain => vec![
                    ring(9.0),
                    Line(arc(5.0, -150.0, -20.0)),
                    Line(vec![(-5.0, 4.0), (5.0, 4.0)]),
                ],
            },
            Self::Site(kind) => match kind {
                MarkKind::DomesticWell | MarkKind::PublicWell | MarkKind::OtherWell => {
                    vec![ring(9.0), ring(4.5)]
                }
                MarkKind::Entry => vec![Line(vec![(-9.0, 7.0), (0.0, -8.0), (9.0, 7.0)])],
                MarkKind::TestPoint => {
                    vec![Outline(vec![
                        (9.0, 0.0),
                        (4.5, 7.8),
                        (-4.5, 7.8),
                        (-9.0, 0.0),
                        (-4.5, -7.8),
                        (4.5, -7.8),
                    ])]
                }
            },
            Self::Sign => vec![
                Outline(vec![(-8.0, -10.0), (8.0, -10.0), (8.0, 4.0), (-8.0, 4.0)]),
                Line(vec![(0.0, 4.0), (0.0, 11.0)]),
                Line(vec![(-4.0, -7.0), (-2.5, 0.0), (2.5, 0.0), (4.0, -7.0)]),
                Line(vec![(-6.0, 2.0), (6.0, -8.0)]),
            ],
            Self::Tree => vec![
                Line(vec![(-4.0, 0.0), (4.0, 0.0)]),
                Line(vec![(0.0, -4.0), (0.0, 4.0)]),
            ],
            Self::Crossing => vec![
                Line(vec![(-8.0, 0.0), (-4.0, 0.0)]),
                Line(arc(4.0, 180.0, 360.0)),
                Line(vec![(4.0, 0.0), (8.0, 0.0)]),
            ],
            Self::Height => vec![
                ring(6.0),
                Line(vec![(-6.0, 0.0), (6.0, 0.0)]),
                Line(vec![(0.0, -6.0), (0.0, 6.0)]),
            ],
            // One side of the head is filled, like that of the north arrow.
            Self::Fall => vec![
                Line(vec![(-9.0, 0.0), (2.0, 0.0)]),
                Outline(vec![(9.0, 0.0), (1.0, -4.0), (1.0, 4.0)]),
                Filled(vec![(9.0, 0.0), (1.0, 0.0), (1.0, 4.0)]),
            ],
            Self::Note => vec![Filled(arc(9.0, 0.0, 360.0))],
            Self::Verdict(verdict) => verdict_strokes(verdict),
        }
    }
}

/// The verdict marks: octagon with bar, diamond with question mark, half-filled circle, triangle with exclamation mark, open
/// ring with dash.
fn verdict_strokes(verdict: crate::rulebook::Verdict) -> Vec<Stroke> {
    use crate::rulebook::Verdict;
    use Stroke::{Circle, Filled, Line, Outline};
    match verdict {
        Verdict::Prohibit => {
            let corners = (0..8).map(|corner| {
                let angle = (22.5 + 45.0 * f64::from(corner)).to_radians();
                (9.5 * angle.cos(), 9.5 * angle.sin())
            });
            vec![
                Outline(corners.collect()),
                Filled(vec![(-5.0, -1.6), (5.0, -1.6), (5.0, 1.6), (-5.0, 1.6)]),
            ]
        }
        Verdict::Ask => vec![
            Outline(vec![(0.0, -10.5), (10.5, 0.0), (0.0, 10.5), (-10.5, 0.0)]),
            Line(vec![
                (-2.6, -2.4),
                (-1.6, -4.6),
                (1.6, -4.6),
                (2.6, -2.4),
                (0.0, 0.4),
                (0.0, 2.0),
            ]),
            Circle {
                at: (0.0, 4.8),
                radius: 1.1,
                filled: true,
            },
        ],
        Verdict::IfProcessed => {
            let mut half = arc(9.0, 90.0, 270.0);
            half.push((0.0, 9.0));
            vec![
                Circle {
                    at: (0.0, 0.0),
                    radius: 9.0,
                    filled: false,
                },
                Filled(half),
            ]
        }
        Verdict::Conditions => vec![
            Outline(vec![(0.0, -9.5), (9.5, 7.5), (-9.5, 7.5)]),
            Line(vec![(0.0, -4.0), (0.0, 2.0)]),
            Circle {
                at: (0.0, 4.8),
                radius: 1.1,
                filled: true,
            },
        ],
        Verdict::NoConflict => {
            vec![
                Circle {
                    at: (0.0, 0.0),
                    radius: 9.0,
                    filled: false,
                },
                Line(vec![(-4.0, 0.0), (4.0, 0.0)]),
            ]
        }
    }
}

/// Points of an arc around the middle, angles clockwise from +x since y is down.
fn arc(radius: f64, from_deg: f64, to_deg: f64) -> Vec<(f64, f64)> {
    const STEPS: i32 = 16;
    (0..=STEPS)
        .map(|step| {
            let angle =
                (from_deg + (to_deg - from_deg) * f64::from(step) / f64::from(STEPS)).to_radians();
            (radius * angle.cos(), radius * angle.sin())
        })
        .collect()
}
