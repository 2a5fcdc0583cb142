//! Preheat: the temperature that a preheater's power gives a conductor at a line speed.

use crate::units::Celsius;

/// Highest temperature at the die that is taken as meant.
pub const HIGHEST: Celsius = Celsius(500.0);

/// A preheater in front of the die.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preheat {
    /// Power taken from the mains, W.
    pub power: f64,
    /// Temperature of the conductor before it.
    pub entry_temperature: Celsius,
    /// Share of the power that the conductor has when it reaches the die, 0 to 1.
    pub efficiency: f64,
}

impl Preheat {
    /// Temperature at the die: eta P = mdot (h(T) - h(T_in)), mdot = v rho(T) A(T).
    ///
    /// `mass_flow` in kg/s of a conductor of that temperature, `gained` what it has gained since the entry, J/kg.
    ///
    /// The mass flow is that at the die, as in every throughput: a cold size is first turned into the hot one. What the conductor
    /// loses between preheater and die belongs to the efficiency. Beyond the curves the heat capacity is constant.
    ///
    /// Range: a round first layer, line speed above 0; the result is not bounded, see [`HIGHEST`].
    ///
    /// ```
    /// # let text = r#"
    /// # line.speed = "150 m/min"
    /// # [[layer]]
    /// # name = "wire"
    /// # material = "metal"
    /// # diameter = "2 mm"
    /// # preheat_power = "2 kW"
    /// # entry_temperature = "20 degC"
    /// # efficiency = 0.8
    /// # [[section]]
    /// # name = "trough"
    /// # medium = "water"
    /// # length = "5 m"
    /// # temperature = "20 degC"
    /// # [material.metal]
    /// # kind = "metal"
    /// # conductivity = "400 W/(m K)"
    /// # heat_capacity = "400 J/(kg K)"
    /// # density = "9 g/cm3"
    /// # "#;
    /// let mut case = quenchway::file::read(text).unwrap();
    /// // 0.8 2000 W/(2.5 m/s 9000 kg/m3 pi/4 (2 mm)^2 400 J/(kg K)) above 20 degC.
    /// assert!((case.die_temperature(0).0 - 76.588).abs() < 1e-3);
    /// // At half the speed twice as much.
    /// case.line_speed = 1.25;
    /// assert!((case.die_temperature(0).0 - 133.177).abs() < 1e-3);
    /// ```
    pub fn temperature(&self, mass_flow: impl Fn(Celsius) -> f64, gained: impl Fn(Celsius) -> f64) -> Celsius {
        let (entry, heat) = (self.entry_temperature, self.efficiency * self.power);
        let missing = |t: f64| heat - mass_flow(Celsius(t)) * gained(Celsius(t));
        // Heat rises with temperature faster than the mass flow falls, so there is one root; find what lies around it first.
        let (mut low, mut high) = (entry.0, entry.0 + 100.0);
        const DOUBLINGS: usize = 60;
        for _ in 0..DOUBLINGS {
            if missing(high) <= 0.0 {
                break;
            }
            (low, high) = (high, entry.0 + 2.0 * (high - entry.0));
        }
        loop {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                return Celsius(low);
            }
            if missing(middle) > 0.0 { low = middle } else { high = middle }
        }
    }
}
