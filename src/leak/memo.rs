/// What a pure function came to, kept for equal arguments: the readings of a session are often alike, as nobody reads a
/// dial finer than to half a mark, and so are the limits of its circuits and the signers of a shop's records.
#[derive(Debug, Clone)]
pub(crate) struct Memo<K, V>(Vec<(K, V)>);

/// More than this is not looked through.
const MOST: usize = 32;

impl<K, V> Default for Memo<K, V> {
    fn default() -> Memo<K, V> {
        Memo(Vec::new())
    }
}

impl<K: PartialEq, V: Clone> Memo<K, V> {
    /// Returns what the function comes to, which is worked out where these arguments are new.
    pub(crate) fn get(&mut self, arguments: K, function: impl FnOnce(&K) -> V) -> V {
        if let Some((_, value)) = self.0.iter().find(|(known, _)| *known == arguments) {
            return value.clone();
        }
        let value = function(&arguments);
        if self.0.len() == MOST {
            self.0.clear();
        }
        self.0.push((arguments, value.clone()));
        value
    }
}

#[cfg(test)]
mod tests {
    use super::Memo;

    #[test]
    fn a_function_is_asked_once_for_equal_arguments_and_again_for_others() {
        let (mut memo, mut n_asked) = (Memo::default(), 0);
        for arguments in [(1.0, "a"), (2.0, "a"), (1.0, "a"), (1.0, "b"), (1.0, "a")] {
            let found = memo.get(arguments, |(number, text)| {
                n_asked += 1;
                format!("{number}{text}")
            });
            assert_eq!(found, format!("{}{}", arguments.0, arguments.1));
        }
        assert_eq!(n_asked, 3);
    }

    #[test]
    fn no_more_is_kept_than_is_soon_looked_through() {
        let mut memo = Memo::default();
        for number in 0..1_000 {
            assert_eq!(memo.get(number, |number| number + 1), number + 1);
        }
        assert!(memo.0.len() <= super::MOST);
    }
}
