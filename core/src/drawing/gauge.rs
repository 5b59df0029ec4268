//! The gauge strip of the pressure view: one continuous band, the working range of the worst emission device as a bracket on
//! it, and the worst and the best device marked.

use super::svg::{MM, SMALL_PT};
use super::theme::{BAND_END, BAND_STOPS_PSI, Theme};
use super::writer::{Align, Letters, Writer, number};
use crate::analysis::Analysis;
use crate::drawing::font::{self, Face};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::model::Plan;
use crate::text;
use crate::units::{Pressure, UnitSystem};

/// One device on the strip.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct OnGauge {
    /// The object it belongs to.
    pub owner: Id,
    /// The pressure at it.
    pub pressure: Pressure,
}

/// What the strip shows.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Gauge {
    /// The working range of the worst device.
    pub range: (Pressure, Pressure),
    /// The device with the least margin to an end of its own range, as a share of that range.
    pub worst: OnGauge,
    /// The one with the largest.
    pub best: OnGauge,
    /// The case shown.
    pub case: SupplyCase,
}

impl Gauge {
    /// The strip of a plan in a case; `None` when no emission device is supplied.
    #[must_use]
    pub fn of(plan: &Plan, analysis: &Analysis, case: SupplyCase) -> Option<Self> {
        let mut found: Vec<(f64, (Pressure, Pressure), OnGauge)> = Vec::new();
        for emitter in analysis.zones.values().flat_map(|zone| zone.emitters(case)) {
            let Some(part) = plan.catalog.emission(&emitter.point.part) else {
                continue;
            };
            let width = part.maximum - part.minimum;
            if width <= Pressure::ZERO {
                continue;
            }
            let margin = (emitter.pressure - part.minimum).min(part.maximum - emitter.pressure);
            let device = OnGauge {
                owner: emitter.point.owner,
                pressure: emitter.pressure,
            };
            found.push((margin / width, (part.minimum, part.maximum), device));
        }
        // Stable: of equals the first in the order of the zones is the worst, the last the best.
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (_, range, worst) = *found.first()?;
        let (_, _, best) = *found.last()?;
        Some(Self {
            range,
            worst,
            best,
            case,
        })
    }

    /// Height of the strip with its words.
    pub const HEIGHT: f64 = 62.0;

    /// Writes the strip into a column that begins at `x`, `y`.
    pub fn write(
        &self,
        (x, y): (f64, f64),
        width: f64,
        theme: Theme,
        units: UnitSystem,
        out: &mut Writer,
    ) {
        let ink = theme.token("ink").hex();
        let letters = Letters {
            size: SMALL_PT,
            face: Face::Regular,
            colour: ink.clone(),
            halo: None,
            align: Align::Start,
        };
        let along = |pressure: Pressure| x + width * (pressure / BAND_END).clamp(0.0, 1.0);
        let (top, height) = (y + 24.0, 3.0 * MM);
        out.raw("<defs><linearGradient id=\"band\" x1=\"0\" y1=\"0\" x2=\"1\" y2=\"0\">");
        for psi in [0.0]
            .into_iter()
            .chain(BAND_STOPS_PSI)
            .chain([BAND_END.psi()])
        {
            let colour = theme.pressure(Pressure::from_psi(psi)).hex();
            let offset = number(psi / BAND_END.psi());
            out.raw(&format!(
                "<stop offset=\"{offset}\" stop-color=\"{colour}\"/>"
            ));
        }
        out.raw("</linearGradient></defs>");
        out.rectangle((x, top), (width, height), "url(#band)");
        let line = |data: String, thick_mm: f64| {
            format!(
                "<path d=\"{data}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"{}\"/>",
                number(thick_mm * MM)
            )
        };
        // The bracket of the working range stands on the band.
        let (low, high) = (along(self.range.0), along(self.range.1));
        let foot = top - 1.5;
        out.raw(&line(
            format!(
                "M{l} {b}V{t}H{h}V{b}",
                l = number(low),
                h = number(high),
                b = number(foot + 1.5),
                t = number(foot - 4.5)
            ),
            0.35,
        ));
        let works = text::fill(
            "gauge.works",
            [
                ("low", units.pressure(self.range.0)),
                ("high", units.pressure(self.range.1)),
            ],
        );
        let half = font::width(&works, Face::Regular) * SMALL_PT / 2.0;
        let middle = f64::midpoint(low, high).clamp(x + half, (x + width - half).max(x + half));
        let centred = Letters {
            align: Align::Middle,
            ..letters.clone()
        };
        out.text((middle, foot - 8.0), &works, &centred);
        // Marks of the worst and the best device hang below: filled and open, so that grey keeps them apart.
        let below = top + height;
        for (device, key, fill, row) in [
            (self.worst, "gauge.worst", ink.as_str(), 0.0),
            (self.best, "gauge.best", "none", 1.0),
        ] {
            let at = along(device.pressure);
            let data = format!("M{} {}l-3 6h6z", number(at), number(below + 0.8));
            out.raw(&format!(
                "<path d=\"{data}\" fill=\"{fill}\" stroke=\"{ink}\" stroke-width=\"0.8\" stroke-linejoin=\"round\"/>"
            ));
            let words = text::fill(
                key,
                [
                    ("device", device.owner.to_string()),
                    ("pressure", units.pressure(device.pressure)),
                    ("letter", self.case.letter().to_string()),
                ],
            );
            let baseline = below + 15.0 + row * 9.5;
            let sample = format!("M{} {}l-3 6h6z", number(x + 3.0), number(baseline - 6.0));
            out.raw(&format!(
                "<path d=\"{sample}\" fill=\"{fill}\" stroke=\"{ink}\" stroke-width=\"0.8\" stroke-linejoin=\"round\"/>"
            ));
            out.text((x + 10.0, baseline), &words, &letters);
        }
    }
}
