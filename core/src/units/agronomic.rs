//! Water depths over time and what is dissolved in the water.

quantity! {
    /// A rate of water on the ground, or an intake rate of soil, in millimetres per hour.
    DepthRate, from_millimetres_per_hour / millimetres_per_hour,
    from_inches_per_hour / inches_per_hour = 25.4,
}

quantity! {
    /// An electrical conductivity in decisiemens per metre: a measure of dissolved salt.
    Salinity, from_decisiemens_per_metre / decisiemens_per_metre,
}

quantity! {
    /// A mass concentration in milligrams per litre.
    Concentration, from_milligrams_per_litre / milligrams_per_litre,
}
