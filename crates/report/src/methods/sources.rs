//! Published sources, numbered in the order in which they are first named.

/// A published source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Source {
    BlandAltman1999,
    BlandAltman2007,
    Cohen1960,
    Fisher1935,
    Holm1979,
    OcfSleep,
    PattonPolitisWhite2009,
    PolitisRomano1994,
    PolitisWhite2004,
    FieldWelsh2007,
    Schuirmann1987,
    Student1908,
    Wilson1927,
    Zou2013,
}

impl Source {
    fn text(self) -> &'static str {
        match self {
            Source::BlandAltman1999 => {
                "Bland JM, Altman DG. Statistical Methods in Medical Research 1999; 8(2): 135-160."
            }
            Source::BlandAltman2007 => {
                "Bland JM, Altman DG. Journal of Biopharmaceutical Statistics 2007; 17(4): 571-582."
            }
            Source::Cohen1960 => "Cohen J. Educational and Psychological Measurement 1960; 20(1): 37-46.",
            Source::Fisher1935 => {
                "Fisher RA. The Design of Experiments. 1935, section 21. (from memory: look it up before printing)"
            }
            Source::Holm1979 => "Holm S. Scandinavian Journal of Statistics 1979; 6(2): 65-70.",
            Source::OcfSleep => "Open Connectivity Foundation. Resource type oic.r.sleep.",
            Source::PattonPolitisWhite2009 => {
                "Patton A, Politis DN, White H. Econometric Reviews 2009; 28(4): 372-375."
            }
            Source::PolitisRomano1994 => {
                "Politis DN, Romano JP. Journal of the American Statistical Association 1994; 89: 1303-1313."
            }
            Source::PolitisWhite2004 => "Politis DN, White H. Econometric Reviews 2004; 23(1): 53-70.",
            Source::FieldWelsh2007 => {
                "Field CA, Welsh AH. Journal of the Royal Statistical Society B 2007; 69(3): 369-390. (from memory: look it up before printing)"
            }
            Source::Schuirmann1987 => {
                "Schuirmann DJ. Journal of Pharmacokinetics and Biopharmaceutics 1987; 15(6): 657-680. (from memory: look it up before printing)"
            }
            Source::Student1908 => "Student. Biometrika 1908; 6(1): 1-25. (from memory: look it up before printing)",
            Source::Wilson1927 => {
                "Wilson EB. Journal of the American Statistical Association 1927; 22: 209-212. (from memory: look it up before printing)"
            }
            Source::Zou2013 => "Zou GY. Statistical Methods in Medical Research 2013; 22(6): 630-642.",
        }
    }
}

/// The sources that a text has named so far.
#[derive(Debug, Default)]
pub(super) struct Sources(Vec<Source>);

impl Sources {
    /// Returns the number of a source in brackets, `[3]`.
    pub(super) fn cite(&mut self, source: Source) -> String {
        let place = self.0.iter().position(|s| *s == source).unwrap_or_else(|| {
            self.0.push(source);
            self.0.len() - 1
        });
        format!("[{}]", place + 1)
    }

    /// Returns the references in the order of their numbers.
    pub(super) fn listed(&self) -> Vec<String> {
        self.0.iter().map(|s| s.text().to_owned()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_keeps_the_number_of_its_first_place() {
        let mut sources = Sources::default();
        let cited = [Source::Holm1979, Source::Cohen1960, Source::Holm1979].map(|s| sources.cite(s));
        assert_eq!(cited, ["[1]", "[2]", "[1]"]);
        assert_eq!(sources.listed().len(), 2);
        assert!(sources.listed()[1].starts_with("Cohen J."));
    }
}
