//! A drawing as a picture.

use std::sync::{Arc, LazyLock};

use aubergine_core::drawing::font;
use resvg::{tiny_skia, usvg};

use crate::PrintError;

/// Resolution of CSS pixels, in which SVG readers measure.
const CSS_DPI: f32 = 96.0;
/// The most pixels of a side.
const LONGEST_SIDE: f32 = 20_000.0;

static FONTS: LazyLock<Arc<usvg::fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = usvg::fontdb::Database::new();
    // Ours only: the same picture on every machine.
    fonts.load_font_data(font::REGULAR.to_vec());
    fonts.load_font_data(font::BOLD.to_vec());
    Arc::new(fonts)
});

/// Dots per inch of a drawing as PNG: letters of 1.8 mm stay readable.
pub const PNG_DPI: f32 = 150.0;

/// Paints an SVG document of the program as PNG. The same document gives the same bytes.
///
/// # Errors
/// The text is not SVG, or the picture would be larger than 20 000 pixels a side.
pub fn png(svg: &str, dpi: f32) -> Result<Vec<u8>, PrintError> {
    let options = usvg::Options {
        font_family: font::FAMILY.to_owned(),
        fontdb: Arc::clone(&FONTS),
        ..usvg::Options::default()
    };
    let failed = |what: String| PrintError::Picture(what);
    let tree = usvg::Tree::from_str(svg, &options).map_err(|error| failed(error.to_string()))?;
    let factor = dpi / CSS_DPI;
    let size = [tree.size().width() * factor, tree.size().height() * factor].map(f32::ceil);
    if !size.iter().all(|side| (1.0..=LONGEST_SIDE).contains(side)) {
        return Err(failed(format!("{} × {} pixels", size[0], size[1])));
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and 20 000"
    )]
    let [width, height] = size.map(|side| side as u32);
    let mut picture = tiny_skia::Pixmap::new(width, height)
        .ok_or_else(|| failed(format!("{width} × {height} pixels")))?;
    let turn = tiny_skia::Transform::from_scale(factor, factor);
    resvg::render(&tree, turn, &mut picture.as_mut());
    picture
        .encode_png()
        .map_err(|error| failed(error.to_string()))
}
