//! temp
use aubergine_core::{analysis::Analyzer, drawing::*, file, hydraulics::SupplyCase};
fn main() {
    for name in ["larkmead-close", "cedarbrake-hollow"] {
        let d = file::load(&std::fs::read(format!("sample-plans/{name}.json")).unwrap()).unwrap();
        let a = Analyzer::default().update(&d.design);
        for view in View::ALL {
            for theme in [theme::Theme::Light, theme::Theme::Dark] {
                let options = ViewOptions {
                    view,
                    case: SupplyCase::Low,
                    units: d.design.site.units,
                };
                let drawing = build(&d.design, &d.review, &a, options);
                let input = sheet::SheetInput {
                    plan: &d.design,
                    analysis: &a,
                    drawing: &drawing,
                    options,
                    theme,
                    date: "2027-05-14",
                };
                let s = sheet::single_sheet(&input).unwrap();
                std::fs::write(
                    format!("/tmp/v/{name}-{}-{theme:?}.svg", view.word()),
                    s.svg,
                )
                .unwrap();
            }
        }
    }
}
