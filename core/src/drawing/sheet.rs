//! A drawing on a sheet: the largest scale that fits, the drawing at exactly that scale, legend, scale bar, north arrow,
//! title and caution around it.

mod air;

use self::air::Air;
use super::font::{self, Face};
use super::footing;
use super::furniture::{self, NORTH_HEIGHT, SCALE_BAR_HEIGHT};
use super::gauge::Gauge;
use super::legend::{self, Entry};
use super::notice::{RuleSource, caution, rules_in_force};
use super::paper::{HeightUse, Orientation, Paper, Scale, Titled, scales};
use super::svg::{self, MM, Mapping, SMALL_PT};
use super::theme::Theme;
use super::words::{self, short_fingerprint, title};
use super::writer::{Align, Letters, Writer, escaped, number};
use super::{Drawing, View, ViewOptions};
use crate::analysis::Analysis;
use crate::geometry::PlanPoint;
use crate::model::Plan;
use crate::text;
use crate::units::{UnitSystem, display};

/// Space between the drawing and what stands beside or below it.
const GUTTER_PT: f64 = 14.0;
/// Least space between two columns of the legend.
const BETWEEN_COLUMNS_PT: f64 = 14.0;
/// Width of the column with scale bar and north arrow.
const SCALE_COLUMN_PT: f64 = 190.0;
/// Width of the scale bar, and of the gauge, in a row below the drawing.
const BAR_PT: f64 = 236.0;
/// Line distance of the small print.
const SMALL_LINE_PT: f64 = SMALL_PT * 1.35;

/// Everything a sheet tells.
#[derive(Clone, Copy, Debug)]
pub struct SheetInput<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Everything about it.
    pub analysis: &'a Analysis,
    /// Its drawing.
    pub drawing: &'a Drawing,
    /// What the drawing shows.
    pub options: ViewOptions,
    /// Colours.
    pub theme: Theme,
    /// The date of the sheet, `YYYY-MM-DD`.
    pub date: &'a str,
}

/// A finished sheet.
#[derive(Clone, PartialEq, Debug)]
pub struct Sheet {
    /// The SVG document.
    pub svg: String,
    /// Width in points.
    pub width: f64,
    /// Height in points.
    pub height: f64,
    /// Its scale.
    pub scale: Scale,
    /// How plan metres became points.
    pub mapping: Mapping,
    /// The drawing in words, 20 to 500 letters.
    pub alt: String,
    /// The legend.
    pub legend: Vec<Entry>,
}

/// Why there is no sheet.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum SheetError {
    /// Nothing to draw.
    #[error("{}", text::get("paper.nothing_drawn"))]
    Empty,
    /// No scale of the list fits.
    #[error("{0}")]
    DoesNotFit(String),
}

/// Where the legend stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Side {
    Right,
    Below,
}

/// Draws a plan on a paper.
///
/// # Errors
/// Nothing is drawn, or no scale of the list fits the paper; it is never shrunk silently.
pub fn sheet(input: &SheetInput<'_>, paper: Paper) -> Result<Sheet, SheetError> {
    let layout = Layout::find(input, paper)?;
    Ok(layout.write(input, paper))
}

/// The same on the single sheet of the units, upright or lying, whichever takes the larger scale.
///
/// # Errors
/// As [`sheet`].
pub fn single_sheet(input: &SheetInput<'_>) -> Result<Sheet, SheetError> {
    let on = |orientation| {
        let paper = Paper::single(input.options.units, orientation);
        Layout::find(input, paper).map(|layout| (layout, paper))
    };
    let (lying, upright) = (on(Orientation::Lying), on(Orientation::Upright));
    let (layout, paper) = match (lying, upright) {
        (Ok(lying), Ok(upright)) => {
            if upright.0.scale.denominator < lying.0.scale.denominator {
                upright
            } else {
                lying
            }
        }
        (Ok(found), Err(_)) | (Err(_), Ok(found)) => found,
        (Err(error), Err(_)) => return Err(error),
    };
    Ok(layout.write(input, paper))
}

/// What was decided before anything is written.
struct Layout {
    scale: Scale,
    side: Side,
    air: Air,
    low: PlanPoint,
    high: PlanPoint,
    entries: Vec<Entry>,
    gauge: Option<Gauge>,
    small_print: Vec<String>,
    rules: Vec<RuleSource>,
}

impl Layout {
    fn find(input: &SheetInput<'_>, paper: Paper) -> Result<Self, SheetError> {
        let (low, high) = input.drawing.bounds().ok_or(SheetError::Empty)?;
        let rules = rules_in_force(input.plan);
        let inner = paper.width - paper.border[0] - paper.border[1];
        let mut layout = Self {
            scale: scales(input.options.units)[0],
            side: Side::Right,
            air: Air::default(),
            low,
            high,
            entries: legend::entries(input.drawing, input.options.units),
            gauge: (input.options.view == View::Pressure)
                .then(|| Gauge::of_all(input.plan, input.analysis, input.options.case))
                .flatten(),
            small_print: footing::told(input.drawing)
                .into_iter()
                .chain([caution(&rules).as_str()])
                .flat_map(|said| furniture::wrapped(said, SMALL_PT, inner))
                .collect(),
            rules,
        };
        let all = scales(input.options.units);
        for scale in all {
            layout.scale = *scale;
            layout.air = Air::around(input.drawing, (low, high), scale.denominator);
            for side in [Side::Right, Side::Below] {
                layout.side = side;
                let (width, height) = layout.needed();
                let available = layout.window(paper);
                if width <= available.0 + 1e-6 && height <= available.1 + 1e-6 {
                    return Ok(layout);
                }
            }
        }
        // The smaller of the two places for the legend decides what could have been had.
        layout.side = Side::Below;
        let shown = |(width, height): (f64, f64)| match input.options.units {
            UnitSystem::Us => format!(
                "{} × {} in",
                display::fixed(width / 72.0, 1),
                display::fixed(height / 72.0, 1)
            ),
            UnitSystem::Metric => format!(
                "{} × {} mm",
                display::fixed(width / MM, 0),
                display::fixed(height / MM, 0)
            ),
        };
        Err(SheetError::DoesNotFit(text::fill(
            "paper.does_not_fit",
            [
                ("scale", layout.scale.words.to_owned()),
                ("needed", shown(layout.needed())),
                ("available", shown(layout.window(paper))),
            ],
        )))
    }

    fn points_per_metre(&self) -> f64 {
        72.0 / 0.0254 / self.scale.denominator
    }

    /// Size of the drawing with its air.
    fn needed(&self) -> (f64, f64) {
        let factor = self.points_per_metre();
        (
            (self.high.x - self.low.x) * factor + self.air.left + self.air.right,
            (self.high.y - self.low.y) * factor + self.air.top + self.air.bottom,
        )
    }

    /// Height of legend, gauge, scale bar and north arrow in one column.
    fn column_height(&self) -> f64 {
        let (_, legend) = legend::columns(&legend::rows(&self.entries), 1);
        self.gauge_height() + legend + GUTTER_PT + NORTH_HEIGHT + 12.0 + SCALE_BAR_HEIGHT
    }

    fn gauge_height(&self) -> f64 {
        self.gauge
            .as_ref()
            .map_or(0.0, |_| legend::HEADING + Gauge::HEIGHT + 6.0)
    }

    /// The width of a legend column, wide enough for the scale bar.
    fn column_width(&self) -> f64 {
        legend::column_width(&legend::rows(&self.entries)).max(SCALE_COLUMN_PT)
    }

    /// The legend below the drawing, in the columns that take least height within the width, and its height.
    fn columns_below(&self, inner: f64) -> (Vec<Vec<legend::Row<'_>>>, f64) {
        const MOST_COLUMNS: usize = 5;
        let rows = legend::rows(&self.entries);
        let fits = |columns: &[Vec<legend::Row<'_>>]| {
            let widths = columns.iter().map(|column| legend::column_width(column));
            widths.map(|width| width + BETWEEN_COLUMNS_PT).sum::<f64>()
                <= inner + BETWEEN_COLUMNS_PT
        };
        // A column that goes on within a group says so, which takes height: more columns are not always lower.
        (2..=MOST_COLUMNS)
            .rev()
            .map(|count| legend::columns(&rows, count))
            .filter(|(columns, _)| fits(columns))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or_else(|| legend::columns(&rows, 1))
    }

    /// Height of the row with scale bar, north arrow and gauge.
    fn bar_row_height(&self) -> f64 {
        NORTH_HEIGHT.max(SCALE_BAR_HEIGHT).max(self.gauge_height()) + 6.0
    }

    fn strip_height(&self, inner: f64) -> f64 {
        let (_, legend) = self.columns_below(inner);
        self.bar_row_height() + legend + GUTTER_PT
    }

    fn title_height(paper: Paper) -> f64 {
        if paper.title == Titled::Yes {
            50.0
        } else {
            0.0
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "a handful of lines")]
    fn small_print_height(&self) -> f64 {
        self.small_print.len() as f64 * SMALL_LINE_PT + 12.0
    }

    /// What the paper leaves for the drawing.
    fn window(&self, paper: Paper) -> (f64, f64) {
        let [left, right, top, bottom] = paper.border;
        let inner = paper.width - left - right;
        let height =
            paper.height - top - bottom - Self::title_height(paper) - self.small_print_height();
        match self.side {
            Side::Right => {
                let width = inner - self.column_width() - GUTTER_PT;
                // The column must fit as well.
                if self.column_height() > height {
                    (width, 0.0)
                } else {
                    (width, height)
                }
            }
            Side::Below => (inner, height - self.strip_height(inner)),
        }
    }

    fn write(&self, input: &SheetInput<'_>, paper: Paper) -> Sheet {
        let theme = input.theme;
        let ground = match theme {
            // Paper is white; on screen, dark sheets keep the dark canvas.
            Theme::Light => theme.token("raised").hex(),
            Theme::Dark => theme.token("canvas").hex(),
        };
        let [left, right, top, bottom] = paper.border;
        let inner = paper.width - left - right;
        let (needed, available) = (self.needed(), self.window(paper));
        let window_height = match (paper.height_use, self.side) {
            (HeightUse::Whole, _) => available.1,
            (HeightUse::Needed, Side::Right) => needed.1.max(self.column_height()),
            (HeightUse::Needed, Side::Below) => needed.1,
        };
        let height = match paper.height_use {
            HeightUse::Whole => paper.height,
            HeightUse::Needed => {
                let below = if self.side == Side::Below {
                    self.strip_height(inner)
                } else {
                    0.0
                };
                window_height + below + self.small_print_height() + Self::title_height(paper)
            }
        };
        let window_top = top + Self::title_height(paper);
        let slack = (available.0 - needed.0, window_height - needed.1);
        let mapping = Mapping {
            corner: PlanPoint::new(self.low.x, self.high.y),
            left: left + slack.0.max(0.0) / 2.0 + self.air.left,
            top: window_top + slack.1.max(0.0) / 2.0 + self.air.top,
            denominator: self.scale.denominator,
        };
        let alt = words::alt(input, self.scale);
        let mut out = Writer::default();
        self.open(input, (paper.width, height), &alt, &mut out);
        out.rectangle((0.0, 0.0), (paper.width, height), &ground);
        if paper.title == Titled::Yes {
            self.write_title(input, (left, top), inner, &mut out);
        }
        svg::write(input.drawing, theme, &ground, &mapping, &mut out);
        out.open("furniture");
        self.write_furniture(input, paper, (window_top, window_height), &ground, &mut out);
        let small_top = height - bottom - self.small_print_height();
        self.write_small_print((left, small_top), inner, theme, &mut out);
        out.close();
        out.raw("</svg>");
        Sheet {
            svg: out.finish(),
            width: paper.width,
            height,
            scale: self.scale,
            mapping,
            alt,
            legend: self.entries.clone(),
        }
    }

    fn open(
        &self,
        input: &SheetInput<'_>,
        (width, height): (f64, f64),
        alt: &str,
        out: &mut Writer,
    ) {
        let [width, height] = [width, height].map(number);
        out.raw(&format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}pt\" height=\"{height}pt\" viewBox=\"0 0 {width} {height}\" xml:lang=\"en\">"
        ));
        out.raw(&format!("<title>{}</title>", escaped(&title(input))));
        let told = format!("{alt} {}", caution(&self.rules));
        out.raw(&format!("<desc>{}</desc>", escaped(&told)));
    }

    fn write_title(
        &self,
        input: &SheetInput<'_>,
        (x, y): (f64, f64),
        inner: f64,
        out: &mut Writer,
    ) {
        let theme = input.theme;
        let large = Letters {
            // A sheet title, 5 mm capitals.
            size: 5.0 * MM / font::CAP_HEIGHT,
            face: Face::Bold,
            colour: theme.token("ink").hex(),
            halo: None,
            align: Align::Start,
        };
        let small = Letters {
            size: legend::WORDS_PT,
            face: Face::Regular,
            colour: theme.token("ink2").hex(),
            ..large.clone()
        };
        out.text((x, y + 16.0), &title(input), &large);
        let sub = text::fill(
            "paper.sub",
            [
                ("scale", self.scale.words.to_owned()),
                ("date", input.date.to_owned()),
                ("fingerprint", short_fingerprint(input.plan)),
            ],
        );
        out.text((x, y + 32.0), &sub, &small);
        hairline((x, y + 41.0), inner, theme, out);
    }

    fn write_furniture(
        &self,
        input: &SheetInput<'_>,
        paper: Paper,
        (top, height): (f64, f64),
        ground: &str,
        out: &mut Writer,
    ) {
        let theme = input.theme;
        let left = paper.border[0];
        let inner = paper.width - left - paper.border[1];
        let rows = legend::rows(&self.entries);
        let north = input.plan.site.north;
        let told = (self.points_per_metre(), self.air.left_out);
        match self.side {
            Side::Right => {
                let width = self.column_width();
                let x = left + inner - width;
                let mut y = top;
                self.write_gauge(input, (x, y), width, out);
                y += self.gauge_height();
                let (columns, tall) = legend::columns(&rows, 1);
                for column in &columns {
                    legend::write_column(column, (x, y), theme, ground, out);
                }
                y = (y + tall + GUTTER_PT)
                    .max(top + height - NORTH_HEIGHT - SCALE_BAR_HEIGHT - 12.0);
                furniture::write_north((x + 12.0, y), north, theme, ground, out);
                let y = y + NORTH_HEIGHT + 12.0;
                furniture::write_scale_bar((x, y), width, told, theme, ground, out);
            }
            Side::Below => {
                let y = top + height + GUTTER_PT;
                furniture::write_scale_bar((left, y), BAR_PT, told, theme, ground, out);
                self.write_gauge(
                    input,
                    (left + BAR_PT + GUTTER_PT, y - 6.0),
                    BAR_PT - 40.0,
                    out,
                );
                furniture::write_north((left + inner - 12.0, y), north, theme, ground, out);
                let y = y + self.bar_row_height();
                let (columns, _) = self.columns_below(inner);
                let mut x = left;
                for column in &columns {
                    legend::write_column(column, (x, y), theme, ground, out);
                    x += legend::column_width(column) + BETWEEN_COLUMNS_PT;
                }
            }
        }
    }

    fn write_gauge(
        &self,
        input: &SheetInput<'_>,
        (x, y): (f64, f64),
        width: f64,
        out: &mut Writer,
    ) {
        let Some(ref gauge) = self.gauge else { return };
        let letters = Letters {
            size: legend::WORDS_PT,
            face: Face::Bold,
            colour: input.theme.token("ink").hex(),
            halo: None,
            align: Align::Start,
        };
        let heading = text::fill("legend.pressure", [("case", gauge.case.word().to_owned())]);
        out.text((x, y + legend::HEADING - 6.0), &heading, &letters);
        let at = (x, y + legend::HEADING);
        gauge.write(at, width - 8.0, input.theme, input.options.units, out);
    }

    fn write_small_print(&self, (x, y): (f64, f64), inner: f64, theme: Theme, out: &mut Writer) {
        hairline((x, y + 2.0), inner, theme, out);
        let letters = Letters {
            size: SMALL_PT,
            face: Face::Regular,
            colour: theme.token("ink").hex(),
            halo: None,
            align: Align::Start,
        };
        let mut baseline = y + 2.0 + SMALL_LINE_PT;
        for line in &self.small_print {
            out.text((x, baseline), line, &letters);
            baseline += SMALL_LINE_PT;
        }
    }
}

fn hairline((x, y): (f64, f64), width: f64, theme: Theme, out: &mut Writer) {
    out.raw(&format!(
        "<path d=\"M{} {}h{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"0.4\"/>",
        number(x),
        number(y),
        number(width),
        theme.token("ink2").hex()
    ));
}

#[cfg(test)]
mod tests;
