//! Where a gain turns into a loss.
//!
//! With crop changed by y, price p, picking and hauling h for one weight of it, H hours more of work at
//! wage w and other costs C more, the net change is y(p − h) − wH − C. It is zero at
//! p = h + (wH + C)/y, at w = (y(p − h) − C)/H, and at y = (wH + C)/(p − h).

/// A change from the control.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Change {
    /// Crop, new less old.
    pub crop: f64,
    /// Price of one weight of crop.
    pub price: f64,
    /// Picking and hauling of one weight of crop.
    pub harvest: f64,
    /// Hours of work, new less old.
    pub hours: f64,
    /// Pay for an hour.
    pub wage: f64,
    /// Other costs, new less old.
    pub other: f64,
}

impl Change {
    /// The net change.
    #[must_use]
    pub fn net(&self) -> f64 {
        self.crop * (self.price - self.harvest) + self.beside_crop()
    }

    /// The net change if the crop were the same.
    #[must_use]
    pub fn beside_crop(&self) -> f64 {
        -self.wage * self.hours - self.other
    }

    /// The price at which it comes to nothing; `None` where the crop is the same, or no price above 0
    /// does it.
    #[must_use]
    pub fn even_price(&self) -> Option<f64> {
        let price = self.harvest - self.beside_crop() / self.crop;
        (price.is_finite() && price > 0.0).then_some(price)
    }

    /// The wage at which it comes to nothing; `None` where the hours are the same, or no wage above 0
    /// does it.
    #[must_use]
    pub fn even_wage(&self) -> Option<f64> {
        let wage = (self.crop * (self.price - self.harvest) - self.other) / self.hours;
        (wage.is_finite() && wage > 0.0).then_some(wage)
    }

    /// The change of crop at which it comes to nothing; `None` where a weight of crop brings nothing.
    #[must_use]
    pub fn even_crop(&self) -> Option<f64> {
        let crop = -self.beside_crop() / (self.price - self.harvest);
        crop.is_finite().then_some(crop)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn machine() -> Change {
        Change {
            crop: 4.6 - 4.2,
            price: 650.0,
            harvest: 110.0,
            hours: 605.0 / 90.0 - 605.0 / 24.0,
            wage: 18.0,
            other: 45.0,
        }
    }

    #[test]
    fn the_machine_pays_until_it_costs_half_a_ton() {
        // (332.75 − 45)/540, see the partial budget of the same machine.
        let found = machine();
        assert!((found.net() - 503.75).abs() < 1e-9);
        assert!((found.beside_crop() - 287.75).abs() < 1e-9);
        assert!((found.even_crop().unwrap() + 0.532_87).abs() < 5e-6);
        // It saves work and gains crop: no price above 0 and no wage above 0 makes it a loss.
        assert_eq!(found.even_price(), None);
        assert_eq!(found.even_wage(), None);
    }

    #[test]
    fn at_every_even_point_the_net_is_nothing() {
        let costly = Change {
            hours: 12.0,
            other: 45.0,
            ..machine()
        };
        let price = Change {
            price: costly.even_price().unwrap(),
            ..costly
        };
        let wage = Change {
            wage: costly.even_wage().unwrap(),
            ..costly
        };
        let crop = Change {
            crop: costly.even_crop().unwrap(),
            ..costly
        };
        for even in [price, wage, crop] {
            assert!(even.net().abs() < 1e-9, "{even:?}");
        }
    }

    #[test]
    fn nothing_is_divided_by_nothing() {
        let same = Change {
            crop: 0.0,
            hours: 0.0,
            price: 110.0,
            ..machine()
        };
        assert_eq!(same.even_price(), None);
        assert_eq!(same.even_wage(), None);
        assert_eq!(same.even_crop(), None);
    }
}
