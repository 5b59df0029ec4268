//! Lengths, areas and angles of the drawing.

quantity! {
    /// A length or a level, kept in metres. 1 in = 25.4 mm and 1 ft = 0.3048 m exactly (international yard and pound
    /// agreement, 1959; from memory).
    Length, from_metres / metres,
    from_millimetres / millimetres = 1e-3,
    from_inches / inches = 0.0254,
    from_feet / feet = 0.3048,
}

quantity! {
    /// An area in square metres.
    Area, from_square_metres / square_metres,
    from_square_feet / square_feet = 0.3048 * 0.3048,
}

quantity! {
    /// An angle in degrees, anticlockwise from +x unless the field says otherwise.
    Angle, from_degrees / degrees,
    from_radians / radians = 180.0 / std::f64::consts::PI,
}

impl std::ops::Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area::from_square_metres(self.metres() * other.metres())
    }
}
