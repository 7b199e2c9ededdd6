//! Why something about differences is not said.

use super::Nights;
use counterpane_stats::Undefined;

/// The least number of independent values from which limits of agreement are given.
pub const WANT_FOR_LIMITS: usize = 3;

/// The least number of people from which CCC and ICC are given: a convention of this program.
pub const WANT_FOR_COEFFICIENTS: usize = 10;

/// Why a number about differences is not given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotSaid {
    /// There are so few people, and it needs so many.
    People {
        /// How many there are.
        has: usize,
        /// How many it needs.
        wants: usize,
    },
    /// There are so few nights of one person, and it needs so many.
    Nights {
        /// How many there are.
        has: usize,
        /// How many it needs.
        wants: usize,
    },
    /// It compares people, and there is one.
    OnePerson,
    /// It is undefined.
    Undefined(Undefined),
}

impl NotSaid {
    /// Refuses where there are fewer independent values than wanted.
    pub(super) fn wants(has: usize, wants: usize, whose: Nights) -> Result<(), NotSaid> {
        match whose {
            _ if has >= wants => Ok(()),
            Nights::OnePerson => Err(NotSaid::Nights { has, wants }),
            Nights::OneEach | Nights::SeveralEach => Err(NotSaid::People { has, wants }),
        }
    }

    /// Returns the word that JSON uses.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            NotSaid::People { .. } => "few_people",
            NotSaid::Nights { .. } => "few_nights",
            NotSaid::OnePerson => "one_person",
            NotSaid::Undefined(why) => why.code(),
        }
    }

    /// Returns the reason in words that stand alone.
    #[must_use]
    pub fn words(self) -> String {
        let few = |has: usize, one: &str, many: &str, wants: usize| {
            format!("{has} {}, needs {wants}", if has == 1 { one } else { many })
        };
        match self {
            NotSaid::People { has, wants } => few(has, "person", "people", wants),
            NotSaid::Nights { has, wants } => few(has, "night", "nights", wants),
            NotSaid::OnePerson => "needs several people".to_owned(),
            NotSaid::Undefined(why) => format!("undefined: {}", why.words()),
        }
    }
}

impl From<Undefined> for NotSaid {
    fn from(why: Undefined) -> NotSaid {
        NotSaid::Undefined(why)
    }
}
