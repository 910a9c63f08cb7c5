//! Thread families and size series as data; ranking of candidates. Knows no pictures.
