//! The wires of a connection: terminals and colours.

/// The colours of wires by their letter codes, each with the key of its name in the words of a language.
///
/// The codes are those of IEC 60757, from memory. Two colours on one wire are written one after the other: `GNYE` is green
/// and yellow.
const COLOURS: [(&str, &str); 14] = [
    ("BK", "wire-black"),
    ("BN", "wire-brown"),
    ("RD", "wire-red"),
    ("OG", "wire-orange"),
    ("YE", "wire-yellow"),
    ("GN", "wire-green"),
    ("BU", "wire-blue"),
    ("VT", "wire-violet"),
    ("GY", "wire-grey"),
    ("WH", "wire-white"),
    ("PK", "wire-pink"),
    ("GD", "wire-gold"),
    ("TQ", "wire-turquoise"),
    ("SR", "wire-silver"),
];

/// The most colours of one wire.
const MOST_COLOURS: usize = 3;

/// The wire at one terminal of a connection.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Wire {
    /// The mark or the place of the terminal: "1", "left".
    pub(crate) terminal: String,
    /// Indices of [`COLOURS`], in the order of the code. Never empty.
    colours: Vec<usize>,
}

/// Why a text is no wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum WireFault<'t> {
    /// It is not a terminal and a colour with a space between them.
    Form,
    /// The colour has no code.
    Colour(&'t str),
    /// A colour of several has no code, or they are too many.
    SomeColour(&'t str),
}

impl Wire {
    /// Parses a terminal and the code of a colour: `"1 BK"`, `"earth GNYE"`.
    pub(crate) fn parse(text: &str) -> Result<Wire, WireFault<'_>> {
        let text = text.trim();
        let (terminal, code) = text
            .rsplit_once(char::is_whitespace)
            .ok_or(WireFault::Form)?;
        let terminal = terminal.trim_end();
        let known = |letters: &str| COLOURS.iter().position(|(code, _)| *code == letters);
        if code.len() <= 2 {
            let colour = known(code).ok_or(WireFault::Colour(code))?;
            return Ok(Wire {
                terminal: terminal.to_owned(),
                colours: vec![colour],
            });
        }
        let letters: Vec<char> = code.chars().collect();
        let codes = letters
            .chunks(2)
            .map(|pair| pair.iter().collect::<String>());
        let colours: Option<Vec<usize>> = codes.map(|letters| known(&letters)).collect();
        let colours = colours.filter(|colours| colours.len() <= MOST_COLOURS);
        Ok(Wire {
            terminal: terminal.to_owned(),
            colours: colours.ok_or(WireFault::SomeColour(code))?,
        })
    }

    /// The letter code: `GNYE`.
    #[must_use]
    pub(crate) fn code(&self) -> String {
        let colours = self.colours.iter();
        colours.map(|colour| COLOURS[*colour].0).collect()
    }

    /// The keys of the names of its colours, in the order of the code.
    pub(crate) fn colour_keys(&self) -> impl Iterator<Item = &'static str> {
        self.colours.iter().map(|colour| COLOURS[*colour].1)
    }

    /// Whether its colours are those of another wire, in any order.
    #[must_use]
    pub(crate) fn has_colours_of(&self, other: &Wire) -> bool {
        let sorted = |wire: &Wire| {
            let mut colours = wire.colours.clone();
            colours.sort_unstable();
            colours
        };
        sorted(self) == sorted(other)
    }
}

/// All codes, for a help: "`BK`, `BN`".
pub(crate) fn wire_colour_codes() -> String {
    COLOURS.map(|(code, _)| format!("`{code}`")).join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wire_is_a_terminal_and_a_colour() {
        let wire = Wire::parse("stop switch  GNYE").expect("it is a wire");
        assert_eq!(wire.terminal, "stop switch");
        assert_eq!(wire.code(), "GNYE");
        assert_eq!(
            wire.colour_keys().collect::<Vec<_>>(),
            ["wire-green", "wire-yellow"]
        );
        assert!(wire.has_colours_of(&Wire::parse("3 YEGN").expect("it is a wire")));
        assert!(!wire.has_colours_of(&Wire::parse("3 GN").expect("it is a wire")));
    }

    #[test]
    fn what_is_no_wire_is_refused() {
        assert_eq!(Wire::parse("GNYE"), Err(WireFault::Form));
        assert_eq!(Wire::parse(" BK"), Err(WireFault::Form));
        assert_eq!(Wire::parse("1 bk"), Err(WireFault::Colour("bk")));
        assert_eq!(Wire::parse("1 XX"), Err(WireFault::Colour("XX")));
        assert_eq!(Wire::parse("1 ö"), Err(WireFault::Colour("ö")));
        for code in ["BLK", "GNYEX", "GNXX", "GNYEBKRD", "öäüß"] {
            let text = format!("1 {code}");
            assert_eq!(
                Wire::parse(&text),
                Err(WireFault::SomeColour(code)),
                "{code}"
            );
        }
    }

    #[test]
    fn every_colour_has_a_name_in_every_language() {
        for words in crate::words::Words::built_in() {
            for (code, key) in COLOURS {
                // A missing text is its key.
                assert_ne!(words.get(key), key, "{code}");
            }
        }
    }
}
