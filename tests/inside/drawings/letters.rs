//! Plain letters of straight strokes, on a field four wide and six high.

/// Each letter's strokes: points as two figures, right and down; a blank begins another stroke.
const LETTERS: [(char, &str); 38] = [
    ('A', "062046 1434"),
    ('B', "0006 003041423303 3344453606"),
    ('C', "41301001051636 3645"),
    ('D', "0006 003041453606"),
    ('E', "40000646 0333"),
    ('F', "400006 0333"),
    ('G', "413010010516364543 4323"),
    ('H', "0006 4046 0343"),
    ('I', "2026"),
    ('J', "4045361605"),
    ('K', "0006 4003 0346"),
    ('L', "000646"),
    ('M', "0600234046"),
    ('N', "06004640"),
    ('O', "103041453616050110"),
    ('P', "0600304132 3203 4132"),
    ('Q', "103041453616050110 2446"),
    ('R', "060030413233 3303 2346"),
    ('S', "4130100102133344453616 1605"),
    ('T', "0040 2026"),
    ('U', "000516364540"),
    ('V', "002640"),
    ('W', "0016233640"),
    ('X', "0046 4006"),
    ('Y', "002340 2326"),
    ('Z', "00400646"),
    ('0', "103041453616050110"),
    ('1', "112026"),
    ('2', "011030410646"),
    ('3', "004023334445361605"),
    ('4', "36300444"),
    ('5', "400003334445361605"),
    ('6', "4130100105163645443303"),
    ('7', "004016"),
    ('8', "103041423313020110 13040516364544 3344"),
    ('9', "4313020110304145361605"),
    (',', "2516"),
    (' ', ""),
];

/// Returns the strokes of a letter.
pub(super) fn letter(c: char) -> Vec<Vec<(f64, f64)>> {
    let (_, strokes) =
        LETTERS.iter().find(|(known, _)| *known == c).unwrap_or_else(|| panic!("no letter {c}"));
    let figure = |byte: &u8| f64::from(byte - b'0');
    let point = |pair: &[u8]| (figure(&pair[0]), figure(&pair[1]));
    strokes.split_whitespace().map(|stroke| stroke.as_bytes().chunks_exact(2).map(point).collect()).collect()
}
