//! Why a search of sizes ends without any, in words.

use super::FASTEST;
use crate::finding::{Message, Value};
use crate::hydraulics::SupplyCase;
use crate::ids::Id;
use crate::units::{Pressure, Velocity};

/// Why there are no sizes.
#[derive(Clone, PartialEq, Debug)]
pub enum NoSizes {
    /// No run may be sized: none is proposed, or none has other sizes in the catalog.
    Nothing,
    /// A zone hangs on no supply, or on several.
    Supplies {
        /// The zone.
        zone: Id,
    },
    /// Water reaches a run from two sides.
    Loop {
        /// The run.
        run: Id,
    },
    /// Not even the largest size of a run is slow enough.
    TooFast {
        /// The run.
        run: Id,
    },
    /// A regulator holds the pressure below what is needed behind it.
    HeldDown {
        /// The regulator.
        device: Id,
        /// How much is missing, as pressure.
        missing: Pressure,
    },
    /// Not even the largest sizes leave enough pressure.
    TooLittle {
        /// How much is missing at the supply.
        missing: Pressure,
    },
    /// The proof failed: an outlet gets too little.
    LowPressure {
        /// Its name.
        outlet: String,
        /// The case.
        case: SupplyCase,
        /// What it gets.
        pressure: Pressure,
        /// What it needs.
        least: Pressure,
    },
    /// The proof failed: a run is too fast.
    Fast {
        /// The run.
        run: Id,
        /// The case.
        case: SupplyCase,
        /// How fast.
        velocity: Velocity,
    },
    /// The proof failed: a zone is too uneven.
    Uneven {
        /// The zone.
        zone: Id,
        /// Its flow variation.
        variation: f64,
        /// What it may have.
        most: f64,
    },
    /// The proof failed: two ends would not mate, and the catalog has no adapter.
    Ends {
        /// The one.
        a: Id,
        /// The other.
        b: Id,
    },
    /// The proof failed: something else became a Stop.
    Stop {
        /// What it says.
        message: Message,
    },
}

impl NoSizes {
    /// The reason in words.
    #[must_use]
    pub fn message(&self) -> Message {
        let (key, values) = match self {
            Self::Nothing => ("size.nothing", vec![]),
            Self::Supplies { zone } => ("size.supplies", vec![("zone", Value::Ids(vec![*zone]))]),
            Self::Loop { run } => ("size.loop", vec![("run", Value::Ids(vec![*run]))]),
            Self::TooFast { run } => (
                "size.too_fast",
                vec![
                    ("run", Value::Ids(vec![*run])),
                    ("limit", Value::Velocity(FASTEST)),
                ],
            ),
            Self::HeldDown { device, missing } => (
                "size.held_down",
                vec![
                    ("device", Value::Ids(vec![*device])),
                    ("missing", Value::Pressure(*missing)),
                ],
            ),
            Self::TooLittle { missing } => (
                "size.too_little",
                vec![("missing", Value::Pressure(*missing))],
            ),
            Self::LowPressure {
                outlet,
                case,
                pressure,
                least,
            } => (
                "size.low_pressure",
                vec![
                    ("outlet", Value::Text(outlet.clone())),
                    ("case", Value::Text(case.word().to_owned())),
                    ("pressure", Value::Pressure(*pressure)),
                    ("least", Value::Pressure(*least)),
                ],
            ),
            Self::Fast {
                run,
                case,
                velocity,
            } => (
                "size.fast",
                vec![
                    ("run", Value::Ids(vec![*run])),
                    ("case", Value::Text(case.word().to_owned())),
                    ("velocity", Value::Velocity(*velocity)),
                    ("limit", Value::Velocity(FASTEST)),
                ],
            ),
            Self::Uneven {
                zone,
                variation,
                most,
            } => (
                "size.uneven",
                vec![
                    ("zone", Value::Ids(vec![*zone])),
                    ("variation", Value::Share(*variation)),
                    ("most", Value::Share(*most)),
                ],
            ),
            Self::Ends { a, b } => ("size.ends", vec![("ends", Value::Ids(vec![*a, *b]))]),
            Self::Stop { message } => (
                "size.stop",
                vec![(
                    "finding",
                    Value::Text(message.sentence(crate::units::UnitSystem::Us)),
                )],
            ),
        };
        Message::new(key, values)
    }
}
