//! Every source the computation rests on, as data: the pages print it, the docs
//! refer to it by tag, and a test holds both to it.

/// How far a source was followed back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// The numbers were read in the source itself or in a text that carries it.
    Confirmed,
    /// The numbers were read in a text that quotes the source.
    SecondHand,
    /// The numbers, or for a method its citation, come from memory; the text
    /// that uses them says what second way they were checked.
    FromMemory,
}

impl Status {
    /// In a reader's words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Confirmed => "confirmed",
            Self::SecondHand => "at second hand",
            Self::FromMemory => "from memory",
        }
    }
}

/// A published source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// What the docs call it, in square brackets there.
    pub tag: &'static str,
    /// Who, what, where, when.
    pub citation: &'static str,
    /// How far it was followed back.
    pub status: Status,
}

/// The source with a tag.
///
/// ```
/// use gylebook::science::bibliography;
/// assert!(bibliography::source("Kell-1975").unwrap().citation.contains("20:97"));
/// ```
#[must_use]
pub fn source(tag: &str) -> Option<&'static Source> {
    BIBLIOGRAPHY.iter().find(|source| source.tag == tag)
}

const fn confirmed(tag: &'static str, citation: &'static str) -> Source {
    Source { tag, citation, status: Status::Confirmed }
}

const fn second_hand(tag: &'static str, citation: &'static str) -> Source {
    Source { tag, citation, status: Status::SecondHand }
}

const fn from_memory(tag: &'static str, citation: &'static str) -> Source {
    Source { tag, citation, status: Status::FromMemory }
}

/// Every source, in the order of its tag.
pub const BIBLIOGRAPHY: &[Source] = &[
    second_hand(
        "AnnessBamforth-1982",
        "B. J. Anness, C. W. Bamforth: Dimethyl sulphide – a review. J. Inst. Brew. 88 (1982) 244.",
    ),
    confirmed(
        "ASBC-Beer10",
        "American Society of Brewing Chemists, Methods of Analysis, Beer-10: Spectrophotometric \
         Color Method. EBC is 25 and SRM 12.7 times the absorbance at 430 nm in 1 cm.",
    ),
    second_hand(
        "ASBC-Tables",
        "American Society of Brewing Chemists, Methods of Analysis: Tables Related to Determinations \
         on Wort, Beer and Brewing Sugars and Syrups. Polynomial fitted to the table.",
    ),
    from_memory(
        "Balling-1865",
        "C. J. N. Balling: Die Gärungschemie, Prague 1865. Attenuation relations; checked here \
         against the densities of ethanol and sugar solutions.",
    ),
    from_memory(
        "Barlow-1972",
        "R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk: Statistical Inference under Order Restrictions, Wiley 1972.",
    ),
    from_memory("Bellman-1957", "R. Bellman: Dynamic Programming, Princeton University Press 1957."),
    from_memory(
        "Bonham-2001",
        "L. Bonham: The use of handheld refractometers. Zymurgy 24(1), 2001, 43–45. The article \
         exists; the factor was not read in it.",
    ),
    from_memory(
        "BoxTiao-1968",
        "G. E. P. Box, G. C. Tiao: A Bayesian approach to some outlier problems. Biometrika 55 (1968) 119–129.",
    ),
    second_hand(
        "Bubnik-1995",
        "Z. Bubník, P. Kadlec, D. Urban, M. Bruhns: Sugar Technologists Manual, 8th ed., Bartens, \
         Berlin 1995, p. 164.",
    ),
    confirmed("CRC-Handbook", "CRC Handbook of Chemistry and Physics."),
    from_memory(
        "DeClerck-1958",
        "J. De Clerck: A Textbook of Brewing, vol. 2, Chapman & Hall, London 1958. Balling's \
         relations as printed in text-books.",
    ),
    confirmed(
        "DelVecchio-1951",
        "H. W. Del Vecchio, C. A. Dayharsh, F. C. Baselt: Thermal death time studies on beer \
         spoilage organisms. Proc. Am. Soc. Brew. Chem. 1951, 45–50.",
    ),
    second_hand(
        "Dickenson-1979",
        "C. J. Dickenson: The relationship of dimethyl sulphide levels in malt, wort and beer. \
         J. Inst. Brew. 85 (1979) 329.",
    ),
    from_memory(
        "EBC-451",
        "European Brewery Convention, Analytica-EBC 4.5.1, Extract of Malt: Congress Mash; the same \
         mash as ASBC Malt-4. Derived again by mass balance.",
    ),
    second_hand(
        "Emmerich-1994",
        "A. Emmerich: Density data and hydrometer calibration of aqueous sucrose solutions. \
         Zuckerindustrie 119 (1994) 120–123; adopted as ICUMSA SPS-4.",
    ),
    confirmed(
        "FDA-FoodCode",
        "US Food and Drug Administration, Food Code, 4-501.111 and 4-703.11: hot-water sanitising by \
         immersion at 77 °C (171 °F) for 30 s; read in WAC 246-215-04550 and Minnesota Rules 4626.0905.",
    ),
    second_hand(
        "Fix-Rates",
        "Pitching rates of 0.75 (ale) and 1.5–2 (lager) million cells per mL and °P, attributed to \
         G. Fix; the classic rule is 1 million.",
    ),
    from_memory("Gelman-2013", "A. Gelman and others: Bayesian Data Analysis, 3rd ed., CRC Press 2013."),
    confirmed(
        "GUM-2008",
        "JCGM 100:2008, Evaluation of measurement data – Guide to the expression of uncertainty in \
         measurement.",
    ),
    from_memory(
        "Hampel-1974",
        "F. R. Hampel: The influence curve and its role in robust estimation. J. Am. Stat. Assoc. 69 (1974) 383–393.",
    ),
    from_memory(
        "HookeJeeves-1961",
        "R. Hooke, T. A. Jeeves: “Direct search” solution of numerical and statistical problems. J. ACM 8 (1961) 212–229.",
    ),
    confirmed(
        "IAPWS-95",
        "International Association for the Properties of Water and Steam, Formulation 1995 (R6-95). \
         Values computed with a general library and cross-checked with a second one.",
    ),
    confirmed(
        "IAPWS-IF97",
        "International Association for the Properties of Water and Steam, Industrial Formulation \
         1997 (R7-97).",
    ),
    confirmed(
        "IAPWS-R10-06",
        "International Association for the Properties of Water and Steam, Equation of State 2006 \
         for H₂O Ice Ih (R10-06). Values computed with a general library.",
    ),
    second_hand(
        "ICUMSA-SPS3",
        "ICUMSA Specification and Standard SPS-3: refractive index of sucrose solutions; quintic \
         fitted to it.",
    ),
    from_memory(
        "Incropera-2007",
        "F. P. Incropera, D. P. DeWitt: Fundamentals of Heat and Mass Transfer, 6th ed., Wiley \
         2007, ch. 11 (effectiveness and number of transfer units). Solved numerically as a check.",
    ),
    confirmed(
        "ISO-1768",
        "ISO 1768:1975, Glass hydrometers – Conventional value for the thermal cubic expansion \
         coefficient (25e−6 per °C).",
    ),
    second_hand(
        "ISO-2533",
        "ISO 2533:1975, Standard Atmosphere. Its rounded constants are from memory and agree with \
         a general library within 13 Pa at 3,000 m.",
    ),
    confirmed(
        "Kell-1975",
        "G. S. Kell: Density, thermal expansivity, and compressibility of liquid water from 0° to \
         150 °C. J. Chem. Eng. Data 20:97–105 (1975).",
    ),
    from_memory("Kendall-1975", "M. G. Kendall: Rank Correlation Methods, 4th ed., Griffin 1975."),
    confirmed("Kern-1950", "D. Q. Kern: Process Heat Transfer, McGraw-Hill 1950, ch. 18 (batch cooling)."),
    from_memory(
        "Kunze-Technologie",
        "W. Kunze: Technologie für Brauer und Mälzer; DIN 8777. Brewhouse yield from the hot \
         kettle; agrees with the mass balance within 0.2 %.",
    ),
    second_hand(
        "Llano-2005",
        "T. Llano: specific heat of impure sugar solutions, as quoted in crystalliser models, 2005; \
         the same form in Bubník 1995.",
    ),
    confirmed(
        "MalowickiShellhammer-2005",
        "M. G. Malowicki, T. H. Shellhammer: Isomerization and degradation kinetics of hop \
         (Humulus lupulus) acids in a model wort-boiling system. J. Agric. Food Chem. 53 (2005) \
         4434–4439.",
    ),
    from_memory("Mann-1945", "H. B. Mann: Nonparametric tests against trend. Econometrica 13 (1945) 245–259."),
    from_memory(
        "Marquardt-1963",
        "D. W. Marquardt: An algorithm for least-squares estimation of nonlinear parameters. J. SIAM 11 (1963) 431–441.",
    ),
    confirmed("Morey-1995", "D. Morey: letter on “Beer's law” and the colour of beer, Brewing Techniques, about 1995."),
    second_hand(
        "NBS-C440",
        "F. J. Bates and others: Polarimetry, Saccharimetry and the Sugars. National Bureau of \
         Standards Circular C440, Washington 1942.",
    ),
    confirmed(
        "NIST-SP811",
        "A. Thompson, B. N. Taylor: Guide for the Use of the International System of Units, NIST \
         Special Publication 811, 2008.",
    ),
    from_memory("Nocedal-2006", "J. Nocedal, S. J. Wright: Numerical Optimization, 2nd ed., Springer 2006, ch. 10."),
    confirmed(
        "NY-1NYCRR",
        "New York, 1 NYCRR 2.18: dairy equipment, water at 77 °C (170 °F) for 5 min, measured at \
         the outlet; the same in California Food & Agricultural Code 33519.",
    ),
    confirmed(
        "OIML-R22",
        "International Organization of Legal Metrology, R 22: International alcoholometric tables, \
         1975. Coefficients read in several public texts.",
    ),
    second_hand(
        "Palmer-2006",
        "J. Palmer: How to Brew, 3rd ed., Brewers Publications 2006: table 7 (hop utilisation) and \
         ch. 16 (strike and infusion temperatures).",
    ),
    confirmed(
        "Pauls-1984",
        "Pauls & Whites: Brewing Room Book, 1984/85: specific and slaking heat of malt by moisture.",
    ),
    from_memory(
        "Sen-1968",
        "P. K. Sen: Estimates of the regression coefficient based on Kendall's tau. J. Am. Stat. Assoc. 63 (1968) 1379–1389.",
    ),
    confirmed(
        "SI-2019",
        "Bureau International des Poids et Mesures: The International System of Units, 9th ed., 2019.",
    ),
    second_hand(
        "Tinseth-1997",
        "G. Tinseth: author's note on hop utilisation, 1997. Form confirmed; the four constants are \
         from memory and give every printed value we have.",
    ),
    from_memory(
        "Tukey-1960",
        "J. W. Tukey: A survey of sampling from contaminated distributions, in Contributions to Probability and Statistics, Stanford University Press 1960, 448–485.",
    ),
    from_memory("Tukey-1977", "J. W. Tukey: Exploratory Data Analysis, Addison-Wesley 1977."),
    second_hand(
        "VanDenBerg-2003",
        "S. Van den Berg, A. Van Landschoot: counts of dry yeast, Cerevisia 28(3), 2003, 25–30.",
    ),
    confirmed(
        "WilsonBooer-1979",
        "R. J. H. Wilson, C. D. Booer: Control of the dimethyl sulphide content of beer by \
         regulation of the copper boil. J. Inst. Brew. 85 (1979) 144.",
    ),
];
