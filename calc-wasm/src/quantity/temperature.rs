//! Temperature and, as a type of its own, a difference of temperatures; base unit °C.

use std::ops::{Add, Sub};

use super::{Unit, quantity, unit};

quantity! {
    /// A temperature, kept in °C.
    Temperature, "temperature", "80 °C",
    [
        unit("°C", &["C", "ºC", "deg C", "degC", "℃"], 1.0),
        Unit { symbol: "K", also: &["kelvin"], factor: 1.0, offset: -273.15 },
        Unit { symbol: "°F", also: &["F", "ºF", "deg F", "degF", "℉"], factor: 5.0 / 9.0, offset: -160.0 / 9.0 },
    ]
}

quantity! {
    /// A difference of two temperatures, kept in kelvin (the same size as °C).
    TemperatureDifference, "temperature difference", "15 °C",
    [
        unit("°C", &["C", "K", "ºC", "deg C", "degC", "℃"], 1.0),
        unit("°F", &["F", "ºF", "deg F", "degF", "℉"], 5.0 / 9.0),
    ]
}

impl Temperature {
    /// From degrees Celsius.
    pub fn celsius(value: f64) -> Self {
        Temperature(value)
    }

    /// In degrees Celsius.
    pub fn in_celsius(self) -> f64 {
        self.0
    }

    /// In kelvin.
    pub fn in_kelvin(self) -> f64 {
        self.0 + 273.15
    }
}

impl TemperatureDifference {
    /// In degrees.
    pub fn in_degrees(self) -> f64 {
        self.0
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Temperature;
    fn add(self, difference: TemperatureDifference) -> Temperature {
        Temperature(self.0 + difference.0)
    }
}

impl Sub for Temperature {
    type Output = TemperatureDifference;
    /// ```compile_fail
    /// use calc_wasm::quantity::Temperature;
    /// // Two temperatures have a difference but no sum.
    /// let sum = Temperature::celsius(20.0) + Temperature::celsius(30.0);
    /// ```
    fn sub(self, other: Temperature) -> TemperatureDifference {
        TemperatureDifference(self.0 - other.0)
    }
}
