//! Reads lengths as people type them: `12'6"`, `12-6`, `¾"`, `3.81m`, or a bare number in the display unit.
//!
//! A text that is not understood *in full* is refused; the leading number alone is never taken, because silently reading
//! `10'6"` as 10 is a wrong drawing. Arithmetic and decimal commas come with the editor.

use super::{Flow, Length, Pressure, UnitSystem};

/// The text is not a length.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{text}\" is not a length we can read. Try 12'6\", 12-6, 3.81 m or 150 in.")]
pub struct NotALength {
    /// What was typed.
    pub text: String,
}

/// Reads a typed level: a length, which may lie below zero.
///
/// # Errors
/// [`NotALength`] when any part of the text is not understood.
pub fn level(text: &str, system: UnitSystem) -> Result<Length, NotALength> {
    match text.trim_start().strip_prefix(['-', '−']) {
        Some(below) => length(below, system).map(|found| -found),
        None => length(text, system),
    }
    .map_err(|_| NotALength {
        text: text.to_owned(),
    })
}

/// Reads a typed length; a number without a unit is in feet or metres, as `system` says.
///
/// # Errors
/// [`NotALength`] when any part of the text is not understood.
pub fn length(text: &str, system: UnitSystem) -> Result<Length, NotALength> {
    let refused = || NotALength {
        text: text.to_owned(),
    };
    let tokens = tokens(text).ok_or_else(refused)?;
    let length = read(&tokens, system).ok_or_else(refused)?;
    if length.is_finite() {
        Ok(length)
    } else {
        Err(refused())
    }
}

/// A number that is not negative, and the word after it in small letters.
fn number_and_unit(text: &str) -> Option<(f64, String)> {
    let typed = text.trim();
    let end = typed
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(typed.len());
    let (digits, unit) = typed.split_at(end);
    Some((digits.parse().ok()?, unit.trim().to_lowercase()))
}

/// The text is not a flow.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{text}\" is not a flow we can read. Try 8 gpm, 30 L/min or 0.5 L/s.")]
pub struct NotAFlow {
    /// What was typed.
    pub text: String,
}

/// Reads a typed flow; a number without a unit is in gallons or litres per minute, as `system` says.
///
/// # Errors
/// [`NotAFlow`] when any part of the text is not understood, or the flow is not above zero.
pub fn flow(text: &str, system: UnitSystem) -> Result<Flow, NotAFlow> {
    let refused = || NotAFlow {
        text: text.to_owned(),
    };
    let (number, unit) = number_and_unit(text).ok_or_else(refused)?;
    let flow = match (unit.as_str(), system) {
        ("gpm", _) | ("", UnitSystem::Us) => Flow::from_gallons_per_minute(number),
        ("l/min", _) | ("", UnitSystem::Metric) => Flow::from_litres_per_minute(number),
        ("l/s", _) => Flow::from_litres_per_second(number),
        _ => return Err(refused()),
    };
    if flow > Flow::ZERO && flow.is_finite() {
        Ok(flow)
    } else {
        Err(refused())
    }
}

/// The text is not a pressure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{text}\" is not a pressure we can read. Try 25 psi, 170 kPa or 1.7 bar.")]
pub struct NotAPressure {
    /// What was typed.
    pub text: String,
}

/// Reads a typed pressure; a number without a unit is in psi or kilopascals, as `system` says.
///
/// # Errors
/// [`NotAPressure`] when any part of the text is not understood, or the pressure is negative.
pub fn pressure(text: &str, system: UnitSystem) -> Result<Pressure, NotAPressure> {
    let refused = || NotAPressure {
        text: text.to_owned(),
    };
    let (number, unit) = number_and_unit(text).ok_or_else(refused)?;
    let pressure = match (unit.as_str(), system) {
        ("psi", _) | ("", UnitSystem::Us) => Pressure::from_psi(number),
        ("kpa", _) | ("", UnitSystem::Metric) => Pressure::from_kilopascals(number),
        ("bar", _) => Pressure::from_bar(number),
        _ => return Err(refused()),
    };
    Ok(pressure)
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Token {
    Number(f64),
    /// A fraction below one whole, such as `1/2` or `¾`.
    Fraction(f64),
    Feet,
    Inches,
    Metric {
        metres: f64,
    },
    /// A dash between feet and inches, without spaces around it.
    Dash,
}

fn tokens(text: &str) -> Option<Vec<Token>> {
    // Typographic marks first, so that one spelling of each is left; two apostrophes are an inch mark.
    let plain = text
        .trim()
        .replace(['′', '’', '‘'], "'")
        .replace(['″', '”', '“'], "\"")
        .replace("''", "\"");
    let mut rest = plain.as_str();
    let mut found = Vec::new();
    while let Some(first) = rest.chars().next() {
        if first == ' ' {
            rest = rest.trim_start();
            continue;
        }
        if first.is_ascii_digit() || first == '.' {
            let end = rest
                .find(|c: char| !c.is_ascii_digit() && c != '.')
                .unwrap_or(rest.len());
            let (digits, after) = rest.split_at(end);
            let number = digits.parse::<f64>().ok()?;
            rest = after;
            if let Some(after_slash) = rest.strip_prefix('/') {
                let end = after_slash
                    .find(|c: char| !c.is_ascii_digit())
                    .unwrap_or(after_slash.len());
                let (denominator, after) = after_slash.split_at(end);
                let denominator = denominator
                    .parse::<f64>()
                    .ok()
                    .filter(|value| *value > 0.0)?;
                found.push(Token::Fraction(number / denominator));
                rest = after;
            } else {
                found.push(Token::Number(number));
            }
            continue;
        }
        if let Some(value) = vulgar_fraction(first) {
            found.push(Token::Fraction(value));
            rest = &rest[first.len_utf8()..];
            continue;
        }
        let (token, width) = [
            ("'", Token::Feet),
            ("\"", Token::Inches),
            ("-", Token::Dash),
            ("mm", Token::Metric { metres: 0.001 }),
            ("cm", Token::Metric { metres: 0.01 }),
            ("m", Token::Metric { metres: 1.0 }),
            ("yd", Token::Metric { metres: 0.9144 }),
            ("ft", Token::Feet),
            ("in", Token::Inches),
        ]
        .into_iter()
        .find(|(mark, _)| rest.starts_with(mark))
        .map(|(mark, token)| (token, mark.len()))?;
        found.push(token);
        rest = &rest[width..];
        // A unit word must end where it ends: `12 inx` is refused.
        if !matches!(token, Token::Feet | Token::Inches | Token::Dash)
            && rest.starts_with(|c: char| c.is_alphanumeric())
        {
            return None;
        }
    }
    Some(found)
}

fn read(tokens: &[Token], system: UnitSystem) -> Option<Length> {
    use Token::{Dash, Feet, Fraction, Inches, Metric, Number};
    let feet = Length::from_feet;
    let inches = Length::from_inches;
    match *tokens {
        [Number(n)] => Some(match system {
            UnitSystem::Us => feet(n),
            UnitSystem::Metric => Length::from_metres(n),
        }),
        [Number(n), Metric { metres }] => Some(Length::from_metres(n * metres)),
        [Number(f), Feet] => Some(feet(f)),
        [Number(i) | Fraction(i), Inches] => Some(inches(i)),
        [Number(i), Fraction(part), Inches] => Some(inches(i + part)),
        [Number(f), Feet, Number(i)] | [Number(f), Feet, Dash, Number(i)] => {
            Some(feet(f) + inches(i))
        }
        [Number(f), Dash, Number(i)] if system == UnitSystem::Us => Some(feet(f) + inches(i)),
        [Number(f), Feet, Number(i) | Fraction(i), Inches]
        | [Number(f), Feet, Dash, Number(i) | Fraction(i), Inches] => Some(feet(f) + inches(i)),
        [Number(f), Feet, Number(i), Fraction(part), Inches]
        | [Number(f), Feet, Dash, Number(i), Fraction(part), Inches] => {
            Some(feet(f) + inches(i + part))
        }
        _ => None,
    }
}

fn vulgar_fraction(mark: char) -> Option<f64> {
    Some(match mark {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_understood_in_full_is_refused() {
        for text in [
            "",
            "abc",
            "12'x",
            "--3",
            "1,5'",
            "12 inx",
            "3/0\"",
            "1.2.3",
            "12' 6\" 7",
            "-4",
        ] {
            assert!(length(text, UnitSystem::Us).is_err(), "{text}");
        }
    }

    #[test]
    fn pressures_name_their_unit_or_take_that_of_the_screen() {
        let us = UnitSystem::Us;
        assert_eq!(pressure("25 psi", us), Ok(Pressure::from_psi(25.0)));
        assert_eq!(
            pressure("170kPa", us),
            Ok(Pressure::from_kilopascals(170.0))
        );
        assert_eq!(
            pressure("170", UnitSystem::Metric),
            Ok(Pressure::from_kilopascals(170.0))
        );
        assert!(pressure("25 pounds", us).is_err());
        assert!(pressure("-3", us).is_err());
    }

    #[test]
    fn a_bare_number_is_in_the_display_unit() {
        assert_eq!(
            length("2", UnitSystem::Metric),
            Ok(Length::from_metres(2.0))
        );
        assert_eq!(length("2", UnitSystem::Us), Ok(Length::from_feet(2.0)));
    }
}
