//! Numbers of parts that need no network: surge, ratings, orifices, fittings, longest runs, losses of catalog devices.

use aubergine_core::catalog::fittings::{Fitting, change_of_bore};
use aubergine_core::catalog::strength::{Material, rating_of_outside, wall_of_ratio};
use aubergine_core::catalog::{Catalog, DevicePart};
use aubergine_core::hydraulics::{
    EvenLine, LossCurve, OutletLaw, Water, flow_through, sudden_surge, velocity_in, wave_speed_in,
};
use aubergine_core::units::{Flow, GRAVITY_MPS2, Length, Pressure, Temperature, Velocity};

use super::build::law_of;
use super::table::{Case, OrificeInput, PartInput, RunInput, SurgeInput};

/// The number a case about parts asks for; `None` for other cases.
pub fn number(case: &Case, what: &str, water: Water) -> Option<f64> {
    if let Some(input) = &case.surge {
        Some(surge(input, what, water))
    } else if let Some(input) = &case.orifice {
        Some(orifice(input, water))
    } else if let Some(input) = &case.run {
        Some(run(case, input, what, water))
    } else {
        case.part.as_ref().map(|input| part(input, what))
    }
}

fn surge(input: &SurgeInput, what: &str, water: Water) -> f64 {
    let bulk = Pressure::from_kilopascals(input.bulk_gpa.unwrap_or(2.19) * 1e6);
    let modulus = Pressure::from_kilopascals(input.modulus_gpa * 1e6);
    let (bore, wall) = (
        Length::from_millimetres(input.bore_mm),
        Length::from_millimetres(input.wall_mm),
    );
    let speed = wave_speed_in(bulk, bore, wall, modulus, water).expect("a pipe");
    let stopped = Velocity::from_metres_per_second(input.velocity_mps);
    let surge = sudden_surge(speed, stopped, water);
    match what {
        "wave_mps" => speed.metres_per_second(),
        "surge_m" => water.head_of(surge).metres(),
        "surge_psi" => surge.psi(),
        _ => panic!("{what}"),
    }
}

/// q = C A √(2 g h), as the law of an outlet.
fn orifice(input: &OrificeInput, water: Water) -> f64 {
    let one = Length::from_metres(1.0);
    let free = Velocity::from_metres_per_second((2.0 * GRAVITY_MPS2).sqrt() * input.discharge);
    let law = OutletLaw::Power {
        flow: flow_through(Length::from_inches(input.bore_in), free),
        at: water.pressure_of(one),
        exponent: 0.5,
    };
    let pressure = input.psi.map_or_else(
        || water.pressure_of(Length::from_feet(input.head_ft.expect("a head"))),
        Pressure::from_psi,
    );
    law.flow_at(pressure, water).gallons_per_minute()
}

fn run(case: &Case, input: &RunInput, what: &str, water: Water) -> f64 {
    let line = EvenLine {
        bore: Length::from_inches(input.bore_in),
        roughness: Length::ZERO,
        spacing: Length::from_inches(input.spacing_in),
        obstruction: Length::ZERO,
        law: OutletLaw::Power {
            flow: Flow::from_gallons_per_hour(input.gph),
            at: Pressure::from_psi(input.at_psi),
            exponent: 0.5,
        },
        water,
        friction: law_of(case),
    };
    let inlet = Pressure::from_psi(input.inlet_psi);
    match what {
        "run_ft" => {
            let longest = line.longest(inlet, input.variation).expect("a run");
            longest.length.feet()
        }
        "closed_form_ft" => {
            let num = line.longest_by_closed_form(inlet, input.variation);
            num.expect("a power law") * line.spacing.feet()
        }
        _ => panic!("{what}"),
    }
}

fn part(input: &PartInput, what: &str) -> f64 {
    let bore = || Length::from_inches(input.bore_in.expect("a bore"));
    let fitting = |fitting: Fitting| fitting.equivalent(bore()).feet();
    match what {
        "rating_psi" => rating_of_outside(
            Pressure::from_psi(input.stress_psi.expect("a stress")),
            input.ratio.expect("a ratio"),
        )
        .psi(),
        "rating_bar" => rating_of_outside(
            Pressure::from_bar(input.stress_mpa.expect("a stress") * 10.0),
            input.ratio.expect("a ratio"),
        )
        .bar(),
        "wall_in" => wall_of_ratio(bore(), input.ratio.expect("a ratio")).inches(),
        "pvc_left" => {
            let fahrenheit = input.fahrenheit.expect("a temperature");
            Material::Pvc.left_at(Temperature::from_celsius((fahrenheit - 32.0) / 1.8))
        }
        "elbow_90_ft" => fitting(Fitting::Elbow90),
        "elbow_45_ft" => fitting(Fitting::Elbow45),
        "tee_run_ft" => fitting(Fitting::TeeRun),
        "tee_branch_ft" => fitting(Fitting::TeeBranch),
        "adapter_ft" => fitting(Fitting::Adapter),
        "change_of_bore" => {
            change_of_bore(bore(), Length::from_inches(input.to_in.expect("a bore")))
        }
        "flow_gpm" => {
            let velocity = Velocity::from_feet_per_second(input.fps.expect("a velocity"));
            flow_through(bore(), velocity).gallons_per_minute()
        }
        "velocity_fps" => velocity_in(bore(), gpm(input)).feet_per_second(),
        "device_psi" => loss_of(input).psi(),
        "cv_psi" => LossCurve::from_cv(input.cv.expect("a coefficient"))
            .loss(gpm(input))
            .psi(),
        _ => panic!("{what}"),
    }
}

fn gpm(input: &PartInput) -> Flow {
    Flow::from_gallons_per_minute(input.gpm.expect("a flow"))
}

/// What a clean device of the catalog loses.
fn loss_of(input: &PartInput) -> Pressure {
    let key = input.device.as_deref().expect("a device");
    let row: &DevicePart = &Catalog::built_in().devices[key];
    let lps = gpm(input).litres_per_second();
    row.opening + Pressure::from_kilopascals(row.loss * lps * lps)
}
