//! The gauge strip of the pressure view: one continuous band, the working range of the worst emission device as a bracket on
//! it, and the worst and the best device marked.

use std::collections::BTreeSet;

use super::svg::{MM, SMALL_PT};
use super::theme::{BAND_END, BAND_STOPS_PSI, Theme};
use super::writer::{Align, Letters, Writer, number};
use crate::analysis::{Analysis, EmitterResult};
use crate::drawing::font::{self, Face};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::model::Plan;
use crate::text;
use crate::units::{Pressure, UnitSystem};

/// One device on the strip.
#[derive(Clone, PartialEq, Debug)]
pub struct OnGauge {
    /// `E7`, or `L1.316` on a line.
    pub name: String,
    /// The pressure at it.
    pub pressure: Pressure,
    /// What it works from, and up to.
    pub range: (Pressure, Pressure),
}

/// What the strip shows.
#[derive(Clone, PartialEq, Debug)]
pub struct Gauge {
    /// The device with the least margin to an end of its own working range, as a share of that range.
    pub worst: OnGauge,
    /// The one with the largest.
    pub best: OnGauge,
    /// The case shown.
    pub case: SupplyCase,
}

impl Gauge {
    /// The strip of every device of a plan in a case.
    #[must_use]
    pub fn of_all(plan: &Plan, analysis: &Analysis, case: SupplyCase) -> Option<Self> {
        Self::of(plan, analysis, case, &BTreeSet::new())
    }

    /// The strip of a plan in a case; where some of the objects asked about have emission devices, of those only. `None` when no
    /// emission device is supplied.
    #[must_use]
    pub fn of(
        plan: &Plan,
        analysis: &Analysis,
        case: SupplyCase,
        asked: &BTreeSet<Id>,
    ) -> Option<Self> {
        let mut found: Vec<(f64, EmitterResult<'_>, (Pressure, Pressure))> = Vec::new();
        for emitter in analysis.zones.values().flat_map(|zone| zone.emitters(case)) {
            let Some(part) = plan.catalog.emission(&emitter.point.part) else {
                continue;
            };
            let width = part.maximum - part.minimum;
            if width <= Pressure::ZERO {
                continue;
            }
            let margin = (emitter.pressure - part.minimum).min(part.maximum - emitter.pressure);
            found.push((margin / width, emitter, (part.minimum, part.maximum)));
        }
        let is_asked = |emitter: &EmitterResult<'_>| asked.contains(&emitter.point.owner);
        if found.iter().any(|(_, emitter, _)| is_asked(emitter)) {
            found.retain(|(_, emitter, _)| is_asked(emitter));
        }
        // Of equals the first in the order of the zones is the worst, the last the best.
        let worst = found.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
        let best = found.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        let device =
            |(_, emitter, range): &(f64, EmitterResult<'_>, (Pressure, Pressure))| OnGauge {
                name: emitter.point.name(),
                pressure: emitter.pressure,
                range: *range,
            };
        Some(Self {
            worst: device(worst),
            best: device(best),
            case,
        })
    }

    /// What is said of the worst and of the best device; of a single one once.
    #[must_use]
    pub fn words(&self, units: UnitSystem) -> Vec<String> {
        let told = if self.worst == self.best {
            &[("gauge.only", &self.worst)][..]
        } else {
            &[("gauge.worst", &self.worst), ("gauge.best", &self.best)]
        };
        let told = told.iter().map(|(key, device)| {
            // Both ends have one unit, told once.
            let low = units.pressure(device.range.0);
            let values = [
                ("device", device.name.clone()),
                ("pressure", units.pressure(device.pressure)),
                ("low", low.split(' ').next().unwrap_or_default().to_owned()),
                ("high", units.pressure(device.range.1)),
            ];
            text::fill(key, values)
        });
        told.collect()
    }

    /// Where the strip has its numbers; the first tells the unit.
    #[must_use]
    pub fn ticks(units: UnitSystem) -> Vec<(Pressure, String)> {
        let (of, step, num, unit): (fn(f64) -> Pressure, _, _, _) = match units {
            UnitSystem::Us => (Pressure::from_psi, 20, 5, "psi"),
            UnitSystem::Metric => (Pressure::from_kilopascals, 100, 6, "kPa"),
        };
        let tick = |index: u32| {
            let value = index * step;
            let words = match index {
                0 => format!("0 {unit}"),
                _ => value.to_string(),
            };
            (of(f64::from(value)), words)
        };
        (0..=num).map(tick).collect()
    }

    /// Height of the strip with its words.
    pub const HEIGHT: f64 = 72.0;

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
        let (low, high) = (along(self.worst.range.0), along(self.worst.range.1));
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
        let works = text::get("canvas.works");
        let half = font::width(works, Face::Regular) * SMALL_PT / 2.0;
        let middle = f64::midpoint(low, high).clamp(x + half, (x + width - half).max(x + half));
        let centred = Letters {
            align: Align::Middle,
            ..letters.clone()
        };
        out.text((middle, foot - 8.0), works, &centred);
        let below = top + height;
        for (pressure, words) in Self::ticks(units) {
            let at = along(pressure);
            out.raw(&line(format!("M{} {}v3", number(at), number(below)), 0.25));
            out.text((at, below + 11.0), &words, &centred);
        }
        // Marks of the worst and the best device stand in the band: filled and open, so that grey keeps them apart.
        let ground = theme.token("canvas").hex();
        let words = self.words(units);
        for (row, (device, words)) in [&self.worst, &self.best]
            .into_iter()
            .zip(&words)
            .enumerate()
        {
            let fill = if row == 0 { &ink } else { &ground };
            let mark = |x: f64, y: f64| {
                format!(
                    "<path d=\"M{} {}l-3 -6h6z\" fill=\"{fill}\" stroke=\"{ink}\" stroke-width=\"0.8\" stroke-linejoin=\"round\"/>",
                    number(x),
                    number(y)
                )
            };
            out.raw(&mark(along(device.pressure), below - 1.0));
            let baseline = below + 24.0 + 9.5 * if row == 0 { 0.0 } else { 1.0 };
            out.raw(&mark(x + 3.0, baseline));
            out.text((x + 10.0, baseline), words, &letters);
        }
    }
}
