//! What one guideline credits between the raw water and the plate, and what a dose–response model makes of the rest. Typed
//! figures live as long as the window: they are no facts of the plan, and nothing rests on them.

use aubergine_core::catalog::crops::Position;
use aubergine_core::contact::Ruling;
use aubergine_core::ids::Id;
use aubergine_core::margin::{
    Credit, Estimate, Exposure, Group, Guideline, Ledger, MOST_TREATMENT, Measure, Pathogen, Taken,
    by_method, estimate, guideline, guidelines, ledger, pathogens,
};
use aubergine_core::report::known;
use aubergine_core::rulebook::Method;
use aubergine_core::text;
use eframe::egui::{self, CollapsingHeader, Label, RichText, Ui};

use crate::window::app::App;
use crate::window::theme;
use crate::window::widgets;

/// What was chosen and typed for one object.
#[derive(Clone)]
struct Asked {
    of: Identity,
    guideline: &'static str,
    taken: Taken,
    germ: usize,
    /// What the supplier states against each germ; that against viruses stands with the sum.
    against: Vec<f64>,
    exposure: Exposure,
}

/// Which crop under which watering: the figures typed for one are no figures of another.
type Identity = (Option<String>, Method, Option<Id>);

fn identity(ruling: &Ruling) -> Identity {
    (ruling.crop.clone(), ruling.method, ruling.zone)
}

/// A crop that the rules judge here, with where its eaten part sits.
type Eaten<'a> = (&'a Ruling, Position);

/// The folded panel of a bed or tree from which something is eaten.
pub(super) fn show(ui: &mut Ui, app: &App, id: Id) {
    let eaten = eaten(app, id);
    if eaten.is_empty() {
        return;
    }
    ui.add_space(8.0);
    CollapsingHeader::new(text::get("margin.title"))
        .id_salt(("margin", id.to_string()))
        .show(ui, |ui| contents(ui, app, id, &eaten));
}

fn eaten(app: &App, id: Id) -> Vec<Eaten<'_>> {
    let judged = app.analysis().contact.values();
    let rulings = judged.flat_map(|output| &output.rulings);
    rulings
        .filter(|ruling| ruling.subject == id)
        .filter_map(|ruling| {
            let crop = app.plan().catalog.crop(ruling.crop.as_deref()?)?;
            Some((ruling, crop.position))
        })
        .collect()
}

fn contents(ui: &mut Ui, app: &App, id: Id, eaten: &[Eaten<'_>]) {
    widgets::hint(ui, text::get("margin.model"));
    // Another plan has a bed of that name, too.
    let memory = egui::Id::unique(("margin", app.place_of_file(), id.to_string()));
    let mut asked: Asked = ui
        .data(|data| data.get_temp(memory))
        .unwrap_or_else(|| fresh(&eaten[0]));
    if let Some((book, (ruling, position))) = choose(ui, eaten, &mut asked) {
        treatment(ui, &mut asked.taken);
        measures(ui, book, position, ruling, &mut asked.taken);
        sum(ui, book, position, &mut asked);
    }
    ui.data_mut(|data| data.insert_temp(memory, asked));
}

/// Nothing is credited that nobody said but how the drawing waters the crop.
fn fresh(of: &Eaten<'_>) -> Asked {
    Asked {
        of: identity(of.0),
        guideline: guidelines().first().map_or("", |book| book.id.as_str()),
        taken: Taken {
            measures: by_method(of.0.method, of.1).into_iter().collect(),
            per_day: 0.5,
            ..Taken::default()
        },
        germ: 0,
        against: vec![0.0; pathogens().len()],
        exposure: Exposure::LETTUCE,
    }
}

fn choose<'a>(
    ui: &mut Ui,
    eaten: &[Eaten<'a>],
    asked: &mut Asked,
) -> Option<(&'static Guideline, Eaten<'a>)> {
    let now = |asked: &Asked| {
        let mut rulings = eaten.iter();
        rulings.position(|(ruling, _)| identity(ruling) == asked.of)
    };
    if now(asked).is_none() {
        // The crop that the figures were typed for is gone.
        *asked = fresh(eaten.first()?);
    }
    let crops: Vec<(usize, &str)> = eaten
        .iter()
        .enumerate()
        .map(|(index, (ruling, _))| (index, ruling.name.as_str()))
        .collect();
    let label = text::get("margin.crop");
    let index = now(asked)?;
    if let Some(chosen) = widgets::choice(ui, "margin crop", label, index, &crops) {
        let (guideline, taken) = (asked.guideline, asked.taken.clone());
        *asked = fresh(eaten.get(chosen)?);
        // The water stays the same.
        asked.guideline = guideline;
        asked.taken.treatment = taken.treatment;
    }
    let books: Vec<(&'static str, &str)> = guidelines()
        .iter()
        .map(|book| (book.id.as_str(), book.title.as_str()))
        .collect();
    let label = text::get("margin.guideline");
    if let Some(id) = widgets::choice(ui, "margin guideline", label, asked.guideline, &books) {
        asked.guideline = id;
    }
    let of = eaten.get(now(asked)?)?;
    Some((guideline(asked.guideline)?, *of))
}

/// A typed number; words that are none are dropped, one out of range is told by the sum.
fn number(ui: &mut Ui, key: &str, value: &mut f64) {
    let shown = format!("{value}");
    if let Some(typed) = widgets::field(ui, key, text::get(key), &shown)
        && let Ok(read) = typed.replace(',', ".").parse::<f64>()
    {
        *value = read;
    }
}

fn treatment(ui: &mut Ui, taken: &mut Taken) {
    number(ui, "margin.treatment", &mut taken.treatment);
    widgets::hint(ui, text::get("margin.stated"));
}

/// The measures that the guideline credits for the crop, to tick.
fn measures(ui: &mut Ui, book: &Guideline, position: Position, ruling: &Ruling, taken: &mut Taken) {
    let credited: Vec<&Credit> = Measure::ALL
        .iter()
        .filter(|measure| **measure != Measure::DieOff)
        // How the water comes is drawn, not ticked.
        .filter(|measure| {
            !matches!(measure, Measure::Drip | Measure::Subsurface)
                || by_method(ruling.method, position) == Some(**measure)
        })
        .filter_map(|measure| book.credit(*measure, position))
        .collect();
    taken
        .measures
        .retain(|measure| credited.iter().any(|credit| credit.measure == *measure));
    if credited.is_empty() {
        widgets::hint(ui, text::get("margin.not_credited"));
    }
    for credit in credited {
        let mut is_done = taken.measures.contains(&credit.measure);
        let words = text::get(credit.measure.key());
        let tick = ui.checkbox(&mut is_done, words);
        let told = format!("{}, {}", credit.clause, known(credit.basis));
        if tick.on_hover_text(told).changed() {
            taken.measures.retain(|measure| *measure != credit.measure);
            taken.measures.extend(is_done.then_some(credit.measure));
        }
    }
    if book.credit(Measure::DieOff, position).is_some() {
        number(ui, "margin.days", &mut taken.days);
        number(ui, "margin.per_day", &mut taken.per_day);
    } else {
        taken.days = 0.0;
    }
}

fn sum(ui: &mut Ui, book: &Guideline, position: Position, asked: &mut Asked) {
    let found = match ledger(book, position, &asked.taken) {
        Ok(found) => found,
        Err(error) => {
            widgets::problem(ui, &error.to_string());
            return;
        }
    };
    ui.add_space(4.0);
    for entry in &found.entries {
        let what = entry.measure.map_or("margin.treated", Measure::key);
        let values = [
            ("what", text::get(what).to_owned()),
            ("log", format!("{:.1}", entry.log)),
        ];
        let line = ui.add(Label::new(text::fill("margin.entry", values)).wrap());
        if let Some(basis) = entry.basis {
            line.on_hover_text(format!("{}, {}", entry.clause, known(basis)));
        }
    }
    ui.label(RichText::new(against(&found)).font(theme::type_of(14.0, true)));
    if let Some(target) = book.target(position) {
        let values = [
            ("title", book.title.clone()),
            ("clause", target.clause.clone()),
            (
                "basis",
                format!("{}; {}", known(target.basis), target.source),
            ),
        ];
        widgets::hint(ui, text::fill("margin.asked", values));
    }
    widgets::group(ui, text::get("margin.dose"));
    dose(ui, &found, asked);
}

fn against(found: &Ledger) -> String {
    let values = [
        ("sum", format!("{:.1}", found.sum)),
        ("target", format!("{:.1}", found.target)),
        ("by", format!("{:.1}", found.over().abs())),
    ];
    // A hair is no lack: sums of tenths are not exact.
    let key = if found.over() < -1e-9 {
        "margin.lacking"
    } else {
        "margin.over"
    };
    text::fill(key, values)
}

fn dose(ui: &mut Ui, found: &Ledger, asked: &mut Asked) {
    let germs: Vec<(usize, &str)> = pathogens()
        .iter()
        .enumerate()
        .map(|(index, germ)| (index, germ.name.as_str()))
        .collect();
    let label = text::get("margin.germ");
    if let Some(index) = widgets::choice(ui, "margin germ", label, asked.germ, &germs) {
        asked.germ = index;
    }
    number(ui, "margin.serve", &mut asked.exposure.millilitres);
    number(ui, "margin.times", &mut asked.exposure.times_a_year);
    asked.exposure = Exposure {
        millilitres: held(asked.exposure.millilitres, 1000.0),
        times_a_year: held(asked.exposure.times_a_year, 3650.0),
    };
    let Some(germ) = pathogens().get(asked.germ) else {
        return;
    };
    // What holds back one germ may let another pass.
    let mut log = found.sum;
    if germ.group != Group::Virus
        && let Some(against) = asked.against.get_mut(asked.germ)
    {
        number(ui, "margin.against", against);
        *against = held(*against, MOST_TREATMENT);
        log += *against - asked.taken.treatment;
    }
    let made = estimate(germ, log, asked.exposure);
    results(ui, germ, &made);
}

/// A typed figure within what can be; one that is no number is none.
fn held(value: f64, most: f64) -> f64 {
    if value.is_finite() {
        value.clamp(0.0, most)
    } else {
        0.0
    }
}

fn results(ui: &mut Ui, germ: &Pathogen, made: &Estimate) {
    let each = one_in(made.each_time);
    widgets::fact(ui, text::get("margin.each_time"), &each);
    widgets::fact(ui, text::get("margin.yearly"), &one_in(made.yearly));
    let burden = text::fill("margin.a_year", [("n", two_digits(made.daly * 1e6))]);
    widgets::fact(ui, text::get("margin.burden"), &burden);
    let values = [
        ("sewage", format!("{}", germ.sewage_per_litre)),
        ("illness", format!("{:.0} %", germ.illness * 100.0)),
        ("source", germ.source.clone()),
    ];
    widgets::hint(ui, text::fill("margin.assumed", values));
    widgets::hint(ui, text::get("margin.model"));
}

/// A chance as one in so many, to two digits: more would be a pretence.
fn one_in(chance: f64) -> String {
    const SMALLEST: f64 = 1e-9;
    if chance < SMALLEST {
        return text::get("margin.rare").to_owned();
    }
    text::fill("margin.one_in", [("n", two_digits(1.0 / chance))])
}

/// A figure to two digits; below a thousandth it is called that.
fn two_digits(value: f64) -> String {
    const SMALLEST: f64 = 1e-3;
    if value < SMALLEST {
        return text::fill("margin.below", [("n", format!("{SMALLEST}"))]);
    }
    let digit = 10.0_f64.powf(value.log10().floor() - 1.0);
    let places = usize::from(value < 10.0) + usize::from(value < 1.0) + usize::from(value < 0.1);
    let rounded = (value / digit).round() * digit;
    format!("{rounded:.places$}")
}
