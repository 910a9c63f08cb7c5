//! One brightness from one pixel of any colour layout.

/// Weights of ITU-R BT.601 as JPEG (JFIF) uses them, in 1/65536, so that a colour picture gives
/// the same grey whichever format carried it.
const RED: u32 = 19595;
const GREEN: u32 = 38470;
const BLUE: u32 = 7471;

/// Grey of an 8-bit pixel of 1 (grey), 2 (grey, alpha), 3 (red, green, blue) or 4 channels
/// (red, green, blue, alpha). Transparent parts count as white paper.
pub(crate) fn luma8(p: &[u8], channels: usize) -> u8 {
    let mix = |r: u8, g: u8, b: u8| {
        ((RED * u32::from(r) + GREEN * u32::from(g) + BLUE * u32::from(b) + 32768) >> 16) as u8
    };
    let over = |grey: u8, alpha: u8| {
        let (grey, alpha) = (u32::from(grey), u32::from(alpha));
        ((grey * alpha + 255 * (255 - alpha) + 127) / 255) as u8
    };
    match (channels, p) {
        (2, &[y, a, ..]) => over(y, a),
        (3, &[r, g, b, ..]) => mix(r, g, b),
        (4, &[r, g, b, a, ..]) => over(mix(r, g, b), a),
        (_, &[y, ..]) => y,
        _ => 0,
    }
}

/// As [`luma8`] for 16-bit samples in big-endian order.
pub(crate) fn luma16(p: &[u8], channels: usize) -> u16 {
    let at = |i: usize| match p.get(2 * i..2 * i + 2) {
        Some(&[high, low]) => u64::from(high) << 8 | u64::from(low),
        _ => 0,
    };
    let mix = || {
        (u64::from(RED) * at(0) + u64::from(GREEN) * at(1) + u64::from(BLUE) * at(2) + 32768) >> 16
    };
    let over = |grey: u64, alpha: u64| (grey * alpha + 65535 * (65535 - alpha) + 32767) / 65535;
    (match channels {
        2 => over(at(0), at(1)),
        3 => mix(),
        4 => over(mix(), at(3)),
        _ => at(0),
    }) as u16
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn white_black_and_transparent() {
        assert_eq!(luma8(&[255, 255, 255], 3), 255);
        assert_eq!(luma8(&[0, 0, 0], 3), 0);
        assert_eq!(luma8(&[0, 0, 0, 0], 4), 255);
        assert_eq!(luma8(&[0, 0, 0, 255], 4), 0);
        assert_eq!(luma16(&[255; 6], 3), 65535);
        assert_eq!(luma16(&[0, 0, 0, 0, 0, 0, 0, 0], 4), 65535);
    }
}
