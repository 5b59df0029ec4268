//! The macro that writes a quantity: constructors and accessors named by unit, and the arithmetic that physics allows.

/// Defines a quantity type. The first unit is the one kept inside and written to files; the others are factors to it.
macro_rules! quantity {
    (
        $(#[$doc:meta])* $Name:ident,
        $from_base:ident / $base:ident
        $(, $(#[$unit_doc:meta])* $from:ident / $get:ident = $factor:expr)* $(,)?
    ) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, PartialOrd, Default, Debug, serde::Serialize)]
        #[serde(transparent)]
        pub struct $Name(f64);

        impl $Name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);

            /// From the unit in the name.
            #[must_use]
            pub const fn $from_base(value: f64) -> Self { Self(value) }

            /// In the unit of the name.
            #[must_use]
            pub const fn $base(self) -> f64 { self.0 }

            $(
                $(#[$unit_doc])*
                /// From the unit in the name.
                #[must_use]
                pub const fn $from(value: f64) -> Self { Self(value * $factor) }

                $(#[$unit_doc])*
                /// In the unit of the name.
                #[must_use]
                pub const fn $get(self) -> f64 { self.0 / $factor }
            )*

            /// The value without its sign.
            #[must_use]
            pub const fn abs(self) -> Self { Self(self.0.abs()) }

            /// The smaller of two.
            #[must_use]
            pub const fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }

            /// The larger of two.
            #[must_use]
            pub const fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }

            /// A total order, so that lists of quantities can be sorted the same way every time.
            #[must_use]
            pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering { self.0.total_cmp(&other.0) }

            /// False for what a computation could not define.
            #[must_use]
            pub const fn is_finite(self) -> bool { self.0.is_finite() }
        }

        impl std::ops::Add for $Name { type Output = Self; fn add(self, other: Self) -> Self { Self(self.0 + other.0) } }
        impl std::ops::Sub for $Name { type Output = Self; fn sub(self, other: Self) -> Self { Self(self.0 - other.0) } }
        impl std::ops::Neg for $Name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl std::ops::AddAssign for $Name { fn add_assign(&mut self, other: Self) { self.0 += other.0; } }
        impl std::ops::SubAssign for $Name { fn sub_assign(&mut self, other: Self) { self.0 -= other.0; } }
        impl std::ops::Mul<f64> for $Name { type Output = Self; fn mul(self, factor: f64) -> Self { Self(self.0 * factor) } }
        impl std::ops::Div<f64> for $Name { type Output = Self; fn div(self, factor: f64) -> Self { Self(self.0 / factor) } }
        impl std::ops::Div for $Name { type Output = f64; fn div(self, other: Self) -> f64 { self.0 / other.0 } }
        impl std::iter::Sum for $Name { fn sum<I: Iterator<Item = Self>>(values: I) -> Self { values.fold(Self::ZERO, |a, b| a + b) } }

        impl<'de> serde::Deserialize<'de> for $Name {
            fn deserialize<D: serde::Deserializer<'de>>(source: D) -> Result<Self, D::Error> {
                let value = f64::deserialize(source)?;
                if value.is_finite() { Ok(Self(value)) } else {
                    Err(serde::de::Error::custom(concat!(stringify!($Name), " must be a finite number")))
                }
            }
        }
    };
}
