//! What a thread's name says, before anything is looked up: words, numbers, starts and hand.

/// What a name says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Read {
    /// Identifiers of the families that the words can mean; `None` without a word.
    pub family: Option<&'static [&'static str]>,
    /// The size: millimetres, inches or a number, as it stands there.
    pub size: f64,
    /// Whether it is said to be a number: #10, No. 10.
    pub numbered: bool,
    /// Whether it is written as a decimal.
    pub decimal: bool,
    /// Pitch or threads per inch, or what stands in their place.
    pub pitch: Option<f64>,
    /// The lead, where a pitch is given beside it.
    pub lead: Option<f64>,
    /// Number of starts that the words say.
    pub starts: Option<u32>,
    /// Whether it is left-handed.
    pub left_hand: bool,
}

#[derive(Debug, Clone, PartialEq)]
enum Token {
    Word(String),
    /// Value, as written, whether a minus stands before it with nothing but a word before that.
    Number {
        value: f64,
        text: String,
        minus: bool,
    },
    /// `x`, `-`, `(`: what stands between.
    Mark(char),
}

/// What each word means: the families. Words of several letters that may be written apart come joined.
const WORDS: &[(&[&str], &[&str])] = &[
    (&["m", "metric"], &["metric-coarse", "metric-fine"]),
    (&["mf"], &["metric-fine"]),
    (&["unc", "nc", "uncr", "unrc"], &["unc"]),
    (&["unf", "nf", "unrf"], &["unf"]),
    (&["unef", "nef"], &["unef"]),
    (&["un", "unr", "unified"], &["un", "unc", "unf", "unef"]),
    (&["bsw", "whit", "whitworth", "w", "ww", "bswhit"], &["bsw"]),
    (&["bsf"], &["bsf"]),
    (&["g", "bspp", "bsp", "pf"], &["g"]),
    (&["r", "bspt"], &["r"]),
    (&["npt"], &["npt"]),
    (&["ba", "bano"], &["ba"]),
    (&["thury"], &["thury"]),
    (&["bsc", "cei", "bscy", "cycle"], &["bsc"]),
    (&["tr", "trap", "trapezoidal"], &["tr"]),
    (&["stub tr", "tr stub", "stubtr"], &["tr-stub"]),
    (&["acme", "acmegp"], &["acme"]),
    (&["acme centralizing", "centralizing acme", "acme centralising"], &["acme-centralizing"]),
    (&["stub acme", "acme stub", "stubacme"], &["stub-acme"]),
    (&["stub acme mone", "mone stub acme", "stubacme mone"], &["stub-acme-m1"]),
    (&["stub acme mtwo", "mtwo stub acme", "stubacme mtwo"], &["stub-acme-m2"]),
    (&["square", "sq"], &["square"]),
    (&["modified square", "square modified"], &["square10"]),
    (&["s", "saw tooth", "sawtooth"], &["saw-tooth"]),
    (&["buttress", "butt"], &["buttress"]),
    (&["rd", "knuckle", "round"], &["knuckle"]),
    (&["lowenherz", "loewenherz"], &["loewenherz"]),
    (&["pg"], &["pg"]),
    (&["brass"], &["brass"]),
    (&["me", "model engineer"], &["model-engineer"]),
    (&["objective", "rms"], &["objective"]),
];

/// Reads a name; `None` where it holds no size, or words that nobody knows.
pub(crate) fn read(text: &str) -> Option<Read> {
    let mut tokens = tokens(&plain(text));
    let left_hand = hand(&mut tokens)?;
    let starts = starts(&mut tokens);
    classes(&mut tokens);
    let mut words: Vec<String> = Vec::new();
    let mut numbered = false;
    // Numbers in order, with the letter that stands before them: x, p, ph or l.
    let mut numbers: Vec<(f64, String, bool, &'static str)> = Vec::new();
    let mut before = "";
    for token in tokens {
        match token {
            Token::Word(w) => match w.as_str() {
                "x" => before = "x",
                "p" => before = "p",
                "ph" | "l" | "lead" => before = "ph",
                "no" => numbered = true,
                "tpi" | "in" | "inch" | "mm" | "thread" | "threads" | "pitch" | "thd" => {}
                _ => {
                    before = "";
                    words.push(w);
                }
            },
            Token::Number { value, text, minus } => {
                numbers.push((value, text, minus, before));
                before = "";
            }
            Token::Mark('#') => numbered = true,
            Token::Mark(_) => {}
        }
    }
    let word = words.join(" ");
    let family = match word.as_str() {
        "" => None,
        w => Some(WORDS.iter().find(|(names, _)| names.contains(&w))?.1),
    };
    let mut numbers = numbers.into_iter();
    let (size, written, minus, _) = numbers.next()?;
    let size = if minus && family == Some(&["thury"][..]) { -size } else { size };
    let (mut pitch, mut lead) = (None, None);
    for (value, _, _, before) in numbers {
        let taken = match before {
            "ph" => &mut lead,
            "p" if pitch.is_some() && lead.is_none() => {
                // What stood in the place of the pitch was the lead.
                lead = pitch.take();
                &mut pitch
            }
            _ => &mut pitch,
        };
        // A number too many is nothing that is understood.
        if taken.is_some() || value <= 0.0 {
            return None;
        }
        *taken = Some(value);
    }
    // A lead alone is that of one start.
    if pitch.is_none() {
        pitch = lead.take();
    }
    let decimal = written.contains('.');
    Some(Read { family, size, numbered, decimal, pitch, lead, starts, left_hand })
}

/// Takes the hand out of a name; `None` where it is said both ways.
fn hand(tokens: &mut Vec<Token>) -> Option<bool> {
    let (mut left, mut right) = (false, false);
    tokens.retain(|t| match t {
        Token::Word(w) if matches!(w.as_str(), "lh" | "left" | "lefthand" | "links") => {
            left = true;
            false
        }
        Token::Word(w) if matches!(w.as_str(), "rh" | "right" | "righthand") => {
            right = true;
            false
        }
        Token::Word(w) => w != "hand" && w != "handed",
        _ => true,
    });
    (!(left && right)).then_some(left)
}

/// Takes the number of starts out of a name: 2 starts, two-start, 3-start, double start.
fn starts(tokens: &mut Vec<Token>) -> Option<u32> {
    const COUNTS: [(&str, u32); 12] = [
        ("single", 1),
        ("one", 1),
        ("double", 2),
        ("twin", 2),
        ("two", 2),
        ("triple", 3),
        ("three", 3),
        ("quadruple", 4),
        ("four", 4),
        ("six", 6),
        ("five", 5),
        ("eight", 8),
    ];
    let at = tokens.iter().position(
        |t| matches!(t, Token::Word(w) if matches!(w.as_str(), "start" | "starts" | "st")),
    )?;
    let mut from = at;
    if from > 0 && tokens.get(from - 1) == Some(&Token::Mark('-')) {
        from -= 1;
    }
    let count = match tokens.get(from.checked_sub(1)?)? {
        Token::Number { value, .. } if value.fract() == 0.0 && (0.0..=1000.0).contains(value) => {
            *value as u32
        }
        Token::Word(w) => COUNTS.iter().find(|(word, _)| word == w)?.1,
        _ => return None,
    };
    tokens.drain(from - 1..=at);
    Some(count)
}

/// Takes out classes of tolerance: 6g, 7e, 2A, 3G behind the size.
fn classes(tokens: &mut Vec<Token>) {
    let mut i = 1;
    while i + 1 < tokens.len() {
        let class = match (&tokens[i], &tokens[i + 1]) {
            (Token::Number { text, .. }, Token::Word(w)) => {
                text.len() == 1 && w.len() == 1 && ("a"..="h").contains(&w.as_str())
            }
            _ => false,
        };
        let first = tokens[..i].iter().any(|t| matches!(t, Token::Number { .. }));
        if class && first { drop(tokens.drain(i..i + 2)) } else { i += 1 }
    }
    // Pipe threads have classes of a letter alone.
    if let [.., Token::Number { .. }, Token::Word(w)] = tokens.as_slice()
        && matches!(w.as_str(), "a" | "b")
    {
        tokens.pop();
    }
}

/// The text in small letters, with one sign for each of the many ways to write it.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 4);
    let letters: Vec<char> = text.trim().to_lowercase().chars().collect();
    for (i, c) in letters.iter().enumerate() {
        let digit = |k: Option<&char>| k.is_some_and(char::is_ascii_digit);
        let (before, after) = (i.checked_sub(1).and_then(|k| letters.get(k)), letters.get(i + 1));
        match c {
            '×' | '✕' | '✖' | '*' | '⨯' => out.push('x'),
            '–' | '—' | '−' | '‐' | '‑' => out.push('-'),
            '⁄' | '∕' => out.push('/'),
            '"' | '″' | '”' | '“' | '\'' | '′' | '’' | '°' | 'ø' | '⌀' | '_' => {
                out.push(' ')
            }
            'ö' => out.push('o'),
            // A decimal comma; any other parts words.
            ',' if digit(before) && digit(after) => out.push('.'),
            ',' | ';' | ':' => out.push(' '),
            c => match FRACTIONS.iter().find(|(f, _)| f == c) {
                Some((_, text)) => {
                    out.push(' ');
                    out.push_str(text);
                    out.push(' ');
                }
                None => out.push(*c),
            },
        }
    }
    out
}

const FRACTIONS: [(char, &str); 9] = [
    ('½', "1/2"),
    ('¼', "1/4"),
    ('¾', "3/4"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
    ('⅓', "1/3"),
    ('⅔', "2/3"),
];

fn tokens(text: &str) -> Vec<Token> {
    let letters: Vec<char> = text.chars().collect();
    let mut out: Vec<Token> = Vec::new();
    let mut i = 0;
    let mut minus = false;
    while i < letters.len() {
        let c = letters[i];
        let next = letters.get(i + 1);
        if c.is_ascii_digit() || (c == '.' && next.is_some_and(char::is_ascii_digit)) {
            let (value, end) = mixed(&letters, i);
            let text: String = letters[i..end].iter().collect();
            match value {
                Some(value) => out.push(Token::Number { value, text, minus }),
                None => out.push(Token::Word(text)),
            }
            (i, minus) = (end, false);
        } else if c.is_alphabetic() {
            let end = (i..letters.len()).find(|k| !letters[*k].is_alphabetic());
            let end = end.unwrap_or(letters.len());
            let word: String = letters[i..end].iter().collect();
            // Modified forms of the stub Acme thread are numbered; M1 alone is a metric size.
            let stub = word == "m" && text.contains("stub") && text.contains("acme");
            i = end + 1;
            match letters.get(end) {
                Some('1') if stub => out.push(Token::Word("mone".into())),
                Some('2') if stub => out.push(Token::Word("mtwo".into())),
                _ => {
                    split_x(&word, &mut out);
                    i = end;
                }
            }
            minus = false;
        } else {
            if !c.is_whitespace() && c != '.' {
                minus = c == '-' && !matches!(out.last(), Some(Token::Number { .. }));
                out.push(Token::Mark(c));
            }
            i += 1;
        }
    }
    out
}

/// `xph` is `x` and `ph`; other words stay whole.
fn split_x(word: &str, out: &mut Vec<Token>) {
    match word {
        "xp" | "xph" | "xl" => {
            out.push(Token::Word("x".into()));
            out.push(Token::Word(word[1..].to_owned()));
        }
        "inx" | "mmx" => out.push(Token::Word("x".into())),
        _ => out.push(Token::Word(word.to_owned())),
    }
}

/// A number from `i` on: 20, 1.5, 3/4, 1 1/2 or 1-1/2; and where it ends.
fn mixed(letters: &[char], i: usize) -> (Option<f64>, usize) {
    let digits = |from: usize, point: bool| {
        let is = |c: &char| c.is_ascii_digit() || (point && *c == '.');
        from + letters[from..].iter().take_while(|c| is(c)).count()
    };
    let value =
        |from: usize, to: usize| letters[from..to].iter().collect::<String>().parse::<f64>().ok();
    let fraction = |from: usize| -> Option<(f64, usize)> {
        let slash = digits(from, false);
        if slash == from || letters.get(slash) != Some(&'/') {
            return None;
        }
        let end = digits(slash + 1, false);
        let (n, d) = (value(from, slash)?, value(slash + 1, end)?);
        (d > 0.0).then(|| (n / d, end))
    };
    if let Some((value, end)) = fraction(i) {
        return (Some(value), end);
    }
    let end = digits(i, true);
    let whole = value(i, end);
    // A proper fraction behind a whole number belongs to it.
    let gap = letters[end..].iter().take_while(|c| c.is_whitespace()).count();
    let joint = match (gap, letters.get(end)) {
        (0, Some('-')) => Some(end + 1),
        (0, _) => None,
        (n, _) => Some(end + n),
    };
    let proper = joint.and_then(fraction).filter(|(f, _)| *f < 1.0);
    match (whole, proper) {
        (Some(w), Some((f, end))) if w.fract() == 0.0 => (Some(w + f), end),
        (whole, _) => (whole, end),
    }
}

/// The number that a size's label writes.
pub(crate) fn number(label: &str) -> Option<f64> {
    let (sign, rest) = match label.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, label),
    };
    let letters: Vec<char> = rest.chars().collect();
    let (value, end) = mixed(&letters, 0);
    value.filter(|_| end == letters.len()).map(|v| sign * v)
}

/// A name in its parts, for comparing: words and numbers, without marks.
pub(crate) fn parts(text: &str) -> Vec<String> {
    tokens(&plain(text))
        .into_iter()
        .filter_map(|t| match t {
            Token::Word(w) if w == "x" => None,
            Token::Word(w) => Some(w),
            Token::Number { text, .. } => Some(text),
            Token::Mark(_) => None,
        })
        .collect()
}
