//! Colours, type and spacing: a drawing office on paper by day, on slate by night.

use eframe::egui::style::{Selection, TextCursorStyle, WidgetVisuals, Widgets};
use eframe::egui::{
    self, Color32, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Stroke,
    TextStyle, Theme, Visuals, vec2,
};
use std::sync::Arc;

/// Colours that mean something, for one of the two themes.
#[derive(Debug, Clone, Copy)]
pub struct Palette {
    /// What the hand may press or what is chosen: the blue of marking-out fluid.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// Ordinary text.
    pub ink: Color32,
    /// Text of less weight.
    pub faint: Color32,
    /// Good.
    pub good: Color32,
    /// Deserves a look.
    pub doubt: Color32,
    /// Wrong.
    pub bad: Color32,
    /// Background of panels.
    pub sheet: Color32,
    /// Background round the picture.
    pub table: Color32,
    /// Background of entries and cards.
    pub card: Color32,
    /// Lines between things.
    pub rule: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

/// By day.
pub const DAY: Palette = Palette {
    accent: rgb(0x1f_4f_9c),
    on_accent: rgb(0xff_ff_ff),
    ink: rgb(0x1d_24_2b),
    faint: rgb(0x5a_61_69),
    good: rgb(0x1f_6b_3a),
    doubt: rgb(0x8a_54_00),
    bad: rgb(0xa5_1c_1c),
    sheet: rgb(0xf3_f0_e8),
    table: rgb(0xd9_d5_ca),
    card: rgb(0xfc_fb_f7),
    rule: rgb(0xc9_c3_b4),
};

/// By night.
pub const NIGHT: Palette = Palette {
    accent: rgb(0x8f_b8_f2),
    on_accent: rgb(0x10_1a_26),
    ink: rgb(0xe6_e4_de),
    faint: rgb(0xa2_a6_a8),
    good: rgb(0x86_cf_9c),
    doubt: rgb(0xe8_b4_5a),
    bad: rgb(0xf2_8b_82),
    sheet: rgb(0x20_26_2b),
    table: rgb(0x14_18_1b),
    card: rgb(0x2a_31_37),
    rule: rgb(0x41_49_50),
};

/// The palette in use.
#[must_use]
pub fn palette(ui: &egui::Ui) -> &'static Palette {
    if ui.visuals().dark_mode { &NIGHT } else { &DAY }
}

/// Colours drawn over a picture, which is black and white whatever the theme.
pub mod over {
    use super::{Color32, rgb};
    /// The bar.
    pub const BAR: Color32 = rgb(0x00_8c_95);
    /// The axial section.
    pub const SECTION: Color32 = rgb(0xd0_3a_8c);
    /// The shadow the fitted screw would cast.
    pub const SHADOW: Color32 = rgb(0x2f_6f_e0);
    /// Points clicked by hand.
    pub const POINT: Color32 = rgb(0xf0_a0_20);
    /// A warning's place.
    pub const WARNING: Color32 = rgb(0xe0_70_10);
    /// The edge lies where the model says.
    pub const ON: Color32 = rgb(0x35_a0_60);
    /// More metal than the model says.
    pub const OUTSIDE: Color32 = rgb(0xe8_5d_1c);
    /// Less metal than the model says.
    pub const INSIDE: Color32 = rgb(0x6a_3d_d8);
}

/// Colour of an edge point that lies `off` limits outside (positive) or inside the fitted shadow; 1
/// is the limit at which it stands out fully.
#[must_use]
pub fn residual_colour(off: f32) -> Color32 {
    let t = off.abs().min(1.0);
    let far = if off > 0.0 { over::OUTSIDE } else { over::INSIDE };
    let mix = |a: u8, b: u8| (f32::from(a) + (f32::from(b) - f32::from(a)) * t) as u8;
    Color32::from_rgb(
        mix(over::ON.r(), far.r()),
        mix(over::ON.g(), far.g()),
        mix(over::ON.b(), far.b()),
    )
}

/// Width of the ring round what has the keyboard, points.
pub const RING: f32 = 2.5;

/// Name of the bold family.
pub const BOLD: &str = "bold";

/// Sets type, spacing and both themes.
pub fn dress(ctx: &egui::Context) {
    let mut fonts = FontDefinitions::default();
    for (name, bytes) in [
        ("sans", include_bytes!("../../../../assets/fonts/LiberationSans-Regular.ttf").as_slice()),
        ("sans-bold", include_bytes!("../../../../assets/fonts/LiberationSans-Bold.ttf")),
    ] {
        fonts.font_data.insert(name.into(), Arc::new(FontData::from_static(bytes)));
    }
    let rest = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let with = |first: &str| {
        let mut names = vec![first.to_owned()];
        names.extend(rest.iter().cloned());
        names
    };
    fonts.families.insert(FontFamily::Proportional, with("sans"));
    fonts.families.insert(FontFamily::Name(BOLD.into()), with("sans-bold"));
    ctx.set_fonts(fonts);
    // The size of the text is the window's own, which knows what it carries.
    ctx.options_mut(|o| o.zoom_with_keyboard = false);
    ctx.set_visuals_of(Theme::Light, visuals(&DAY, false));
    ctx.set_visuals_of(Theme::Dark, visuals(&NIGHT, true));
    ctx.all_styles_mut(|style| {
        let bold = FontFamily::Name(BOLD.into());
        style.text_styles = [
            (TextStyle::Heading, FontId::new(20.0, bold.clone())),
            (TextStyle::Name(BOLD.into()), FontId::new(14.5, bold)),
            (TextStyle::Body, FontId::new(14.5, FontFamily::Proportional)),
            (TextStyle::Button, FontId::new(14.5, FontFamily::Proportional)),
            (TextStyle::Monospace, FontId::new(13.5, FontFamily::Monospace)),
            (TextStyle::Small, FontId::new(12.5, FontFamily::Proportional)),
        ]
        .into();
        style.spacing.item_spacing = vec2(8.0, 7.0);
        style.spacing.button_padding = vec2(10.0, 5.0);
        style.spacing.interact_size.y = 28.0;
        style.spacing.window_margin = Margin::same(14);
        style.spacing.scroll.floating = false;
        style.spacing.scroll.bar_width = 8.0;
        style.spacing.scroll.foreground_color = false;
        style.spacing.tooltip_width = 380.0;
        style.interaction.selectable_labels = true;
        style.animation_time = 0.06;
    });
}

fn visuals(p: &Palette, dark: bool) -> Visuals {
    let base = if dark { Visuals::dark() } else { Visuals::light() };
    let corner = CornerRadius::same(3);
    let widget = |bg: Color32, weak: Color32, edge: Color32, fg: Color32| WidgetVisuals {
        bg_fill: bg,
        weak_bg_fill: weak,
        bg_stroke: Stroke::new(1.0, edge),
        corner_radius: corner,
        fg_stroke: Stroke::new(1.2, fg),
        expansion: 0.0,
    };
    Visuals {
        dark_mode: dark,
        widgets: Widgets {
            noninteractive: widget(p.sheet, p.sheet, p.rule, p.ink),
            inactive: widget(p.card, p.card, p.rule, p.ink),
            hovered: widget(p.card, p.card, p.accent, p.ink),
            // What has the keyboard has a heavy ring, outside what a choice is lit by: what is chosen
            // and what has the keyboard are two things, and either can be read.
            active: WidgetVisuals {
                bg_stroke: Stroke::new(RING, p.ink),
                expansion: 1.5,
                ..widget(p.card, p.card, p.ink, p.ink)
            },
            open: widget(p.card, p.card, p.accent, p.ink),
        },
        selection: Selection { bg_fill: p.accent, stroke: Stroke::new(1.0, p.on_accent) },
        hyperlink_color: p.accent,
        faint_bg_color: p.card,
        extreme_bg_color: p.card,
        code_bg_color: p.card,
        warn_fg_color: p.doubt,
        error_fg_color: p.bad,
        window_corner_radius: CornerRadius::same(4),
        window_fill: p.sheet,
        window_stroke: Stroke::new(1.0, p.rule),
        menu_corner_radius: CornerRadius::same(4),
        panel_fill: p.sheet,
        weak_text_color: Some(p.faint),
        text_cursor: TextCursorStyle { stroke: Stroke::new(2.0, p.accent), ..base.text_cursor },
        ..base
    }
}

/// Contrast of two colours as WCAG 2.2 defines it ("contrast ratio", 1 to 21).
#[must_use]
pub fn contrast(a: Color32, b: Color32) -> f64 {
    let luminance = |c: Color32| {
        let channel = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(c.r()) + 0.7152 * channel(c.g()) + 0.0722 * channel(c.b())
    };
    let (x, y) = (luminance(a) + 0.05, luminance(b) + 0.05);
    x.max(y) / x.min(y)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_of_a_widget_can_be_read_and_told_from_the_others() {
        for (p, dark) in [(&DAY, false), (&NIGHT, true)] {
            let v = visuals(p, dark);
            let w = &v.widgets;
            for (name, state) in [
                ("noninteractive", &w.noninteractive),
                ("inactive", &w.inactive),
                ("hovered", &w.hovered),
                ("active", &w.active),
                ("open", &w.open),
            ] {
                // A button's text stands on its own ground, that of a radio button on the page's.
                for ground in [state.bg_fill, state.weak_bg_fill, p.sheet, p.card] {
                    let ratio = contrast(state.fg_stroke.color, ground);
                    assert!(ratio >= 4.5, "{name} on {ground:?}: {ratio:.2}");
                }
            }
            // What is chosen.
            assert!(contrast(v.selection.stroke.color, v.selection.bg_fill) >= 4.5);
            // WCAG 2.2, success criterion 1.4.11: 3 for what shows a state.
            for ground in [p.sheet, p.card] {
                assert!(contrast(w.active.bg_stroke.color, ground) >= 3.0);
                assert!(contrast(v.selection.bg_fill, ground) >= 3.0);
            }
            // With the keyboard and chosen are two looks: a ring, and a ground.
            assert_ne!(w.active.weak_bg_fill, v.selection.bg_fill);
            assert!(w.active.bg_stroke.width > w.inactive.bg_stroke.width);
            assert!(w.active.bg_stroke.width > w.hovered.bg_stroke.width);
        }
    }

    #[test]
    fn text_can_be_read_in_both_themes() {
        // WCAG 2.2, success criterion 1.4.3: at least 4.5 for text.
        for p in [&DAY, &NIGHT] {
            for back in [p.sheet, p.card] {
                for text in [p.ink, p.faint, p.good, p.doubt, p.bad, p.accent] {
                    let ratio = contrast(text, back);
                    assert!(ratio >= 4.5, "{text:?} on {back:?}: {ratio:.2}");
                }
            }
            assert!(contrast(p.on_accent, p.accent) >= 4.5);
        }
        assert!((contrast(Color32::BLACK, Color32::WHITE) - 21.0).abs() < 1e-9);
    }
}
