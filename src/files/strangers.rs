//! What a stranger's text may not do to the text around it.

/// Whether a character changes how the text around it is shown, or is not seen itself: controls, line separators, direction marks,
/// tags. The joiners of scripts that need them are left.
///
/// ```
/// use hillwright::files::is_invisible;
/// assert!(is_invisible('\u{1b}') && is_invisible('\u{202e}'));
/// assert!(!is_invisible('ö') && !is_invisible(' '));
/// ```
pub fn is_invisible(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{180e}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{2069}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}
