//! What a supply is.

/// What a supply is for. Where one kind belongs, another does harm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum SupplyKind {
    Fuel,
    Oil,
    Coolant,
    Cleaner,
    Sealant,
    Grease,
}

impl SupplyKind {
    /// As it is written in the sources.
    #[must_use]
    pub(crate) fn word(self) -> &'static str {
        match self {
            SupplyKind::Fuel => "fuel",
            SupplyKind::Oil => "oil",
            SupplyKind::Coolant => "coolant",
            SupplyKind::Cleaner => "cleaner",
            SupplyKind::Sealant => "sealant",
            SupplyKind::Grease => "grease",
        }
    }
}
