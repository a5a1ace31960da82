//! The mark of a tool's scale that limits allow.

use super::limits::Limits;
use super::rational::Rational;
use super::value::Quantity;

impl Limits {
    /// The scale mark to set a tool to: of the multiples of `graduation` within the limits, the one
    /// nearest to the nominal.
    ///
    /// Without a nominal, it is the one nearest to the middle of the range, or to the only bound. Of
    /// two equally near marks it is the lower, which strains the part less. A nominal alone gives
    /// the mark nearest to it.
    ///
    /// The mark is in the unit of `graduation` and prints with its digits. `None` if no mark lies
    /// within the limits, if the kinds differ, or if `graduation` is not above zero.
    ///
    /// ```
    /// use benchleaf::quantity::{Limits, Quantity};
    ///
    /// let torque = Limits::parse("9.8 N·m ± 0.5 N·m")?;
    /// let mark = |graduation| {
    ///     let graduation = Quantity::parse(graduation)?;
    ///     Ok::<_, benchleaf::quantity::Error>(torque.on_scale(&graduation))
    /// };
    /// assert_eq!(mark("0.2 N·m")?, Some(Quantity::parse("9.8 N·m")?));
    /// assert_eq!(mark("0.5 N·m")?, Some(Quantity::parse("10.0 N·m")?));
    /// assert_eq!(mark("5 in-lb")?, Some(Quantity::parse("85 in-lb")?));
    /// assert_eq!(mark("4 N·m")?, None);
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn on_scale(&self, graduation: &Quantity) -> Option<Quantity> {
        if graduation.kind() != self.kind() || !graduation.value().is_positive() {
            return None;
        }
        let conversion = self.unit().conversion(graduation.unit());
        let in_marks = |value: &Rational| conversion.point(value) / graduation.value();
        let lower = self.lower_value().map(in_marks);
        let upper = self.upper_value().map(in_marks);
        let half = Rational::small(1, 2);
        let aim = match (self.nominal_value(), &lower, &upper) {
            (Some(nominal), ..) => in_marks(nominal),
            (None, Some(lower), Some(upper)) => (lower + upper) * &half,
            (None, Some(only), None) | (None, None, Some(only)) => only.clone(),
            (None, None, None) => return None,
        };
        let mut mark = (aim - half).ceil();
        // The upper bound is applied last, so that the check below fails if no mark is between them.
        if let Some(lower) = &lower {
            mark = mark.max(lower.ceil());
        }
        if let Some(upper) = &upper {
            mark = mark.min(upper.floor());
        }
        if lower.is_some_and(|lower| mark < lower) {
            return None;
        }
        Some(graduation.times(&mark))
    }
}
