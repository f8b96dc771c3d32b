//! The address of a plan: everything that it is made from but the route files, as keys and values of a query.

/// More than this no form of the page writes, in bytes.
pub const MOST_BYTES: usize = 16 * 1024;
/// Nor so many keys.
const MOST_PAIRS: usize = 1200;

/// Keys and values in the order given; a key may be there again and again.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Address {
    pairs: Vec<(String, String)>,
}

/// An address that no page wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddressError {
    /// Too long.
    #[error(
        "the address is longer than {MOST_BYTES} bytes; start again from the page's first address"
    )]
    TooLong,
    /// Too many keys.
    #[error(
        "the address has more than {MOST_PAIRS} values; start again from the page's first address"
    )]
    TooMany,
}

impl Address {
    /// Reads a query as forms write it (WHATWG URL, `application/x-www-form-urlencoded`): `a=1&b=2`, spaces as `+`.
    ///
    /// # Errors
    /// It is longer than any that the page writes.
    pub fn parse(query: &str) -> Result<Address, AddressError> {
        if query.len() > MOST_BYTES {
            return Err(AddressError::TooLong);
        }
        let pairs: Vec<(String, String)> = form_urlencoded::parse(query.as_bytes())
            .into_owned()
            .take(MOST_PAIRS + 1)
            .collect();
        if pairs.len() > MOST_PAIRS {
            return Err(AddressError::TooMany);
        }
        Ok(Address { pairs })
    }

    /// As a query.
    pub fn query(&self) -> String {
        form_urlencoded::Serializer::new(String::new())
            .extend_pairs(&self.pairs)
            .finish()
    }

    /// All keys with their values.
    pub fn pairs(&self) -> &[(String, String)] {
        &self.pairs
    }

    /// The first value of a key, without space around it; none where the key is absent or the value blank.
    pub fn get(&self, key: &str) -> Option<&str> {
        let value = self.pairs.iter().find(|pair| pair.0 == key)?.1.trim();
        (!value.is_empty()).then_some(value)
    }

    /// Whether some key satisfies a condition.
    pub fn has(&self, is: impl Fn(&str) -> bool) -> bool {
        self.pairs.iter().any(|pair| is(&pair.0))
    }

    /// Adds a value.
    pub fn push(&mut self, key: impl Into<String>, value: impl Into<String>) {
        self.pairs.push((key.into(), value.into()));
    }

    /// The same with another value for a key; none removes it.
    #[must_use]
    pub fn with(&self, key: &str, value: Option<&str>) -> Address {
        let mut changed = self.without(|k| k == key);
        if let Some(value) = value {
            changed.push(key, value);
        }
        changed
    }

    /// The same without the keys that satisfy a condition.
    #[must_use]
    pub fn without(&self, is: impl Fn(&str) -> bool) -> Address {
        let pairs = self.pairs.iter().filter(|pair| !is(&pair.0)).cloned();
        Address {
            pairs: pairs.collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_query_is_read_as_forms_write_it() {
        let address =
            Address::parse("bike.sprockets=11+13&keep=3%3D7&name=Big%20%C3%B6&&x").unwrap();
        assert_eq!(address.get("bike.sprockets"), Some("11 13"));
        assert_eq!(address.get("keep"), Some("3=7"));
        assert_eq!(address.get("name"), Some("Big ö"));
        assert_eq!(address.get("x"), None);
        assert!(address.has(|key| key == "x"));
    }

    #[test]
    fn a_stray_per_cent_sign_is_itself() {
        let address = Address::parse("a=100%&b=%zz&c=%4").unwrap();
        assert_eq!(address.get("a"), Some("100%"));
        assert_eq!(address.get("b"), Some("%zz"));
        assert_eq!(address.get("c"), Some("%4"));
    }

    #[test]
    fn what_no_page_wrote_is_refused() {
        let long = format!("a={}", "x".repeat(MOST_BYTES));
        assert_eq!(Address::parse(&long), Err(AddressError::TooLong));
        let many = "a&".repeat(MOST_PAIRS + 1);
        assert_eq!(Address::parse(&many), Err(AddressError::TooMany));
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(pairs in prop::collection::vec(("\\PC{1,9}", "\\PC{0,9}"), 0..9)) {
            let address = Address { pairs };
            prop_assert_eq!(Address::parse(&address.query()), Ok(address));
        }

        #[test]
        fn no_text_panics(text in "\\PC{0,60}|[%+=&0-9a-f]{0,60}") {
            let _ = Address::parse(&text);
        }
    }
}
