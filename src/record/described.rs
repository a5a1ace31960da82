//! Descriptions of the fields of tables.
//!
//! Each field is described once, as a [`Field`] in a [`table!`]. Records are read by means of these fields, so a key
//! that is not described can't be read, and the type of the field decides how it is read. The JSON Schemas, and what is
//! offered while an author types, come from the same descriptions.

use crate::quantity::Kind;
use std::marker::PhantomData;

/// The description of a kind of table, such as `[part.ID]`.
#[derive(Debug)]
pub(crate) struct Table {
    /// The name of the kind: `part`.
    pub(crate) name: &'static str,
    /// What the table describes, in a sentence or two.
    pub(crate) about: &'static str,
    pub(crate) fields: &'static [&'static Description],
}

impl Table {
    #[must_use]
    pub(crate) fn field(&self, key: &str) -> Option<&'static Description> {
        let mut fields = self.fields.iter().copied();
        fields.find(|field| field.key == key)
    }
}

/// The description of a field.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Description {
    pub(crate) key: &'static str,
    /// What the field means, in a sentence or two.
    pub(crate) about: &'static str,
    /// Whether a table without the field is an error whatever else it has.
    pub(crate) is_required: bool,
    pub(crate) value: Value,
    /// Values as they are typed, without quotes. Those of a list are items of one list.
    pub(crate) examples: &'static [&'static str],
}

impl Description {
    /// The kinds of quantity that it takes. Empty: any kind, or none at all.
    #[must_use]
    pub(crate) fn kinds(&self) -> &'static [Kind] {
        match self.value {
            Value::Text(Form::Quantity(kinds))
            | Value::Texts {
                form: Form::Quantity(kinds),
                ..
            } => kinds,
            _ => &[],
        }
    }
}

/// What a field can hold.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Value {
    Text(Form),
    /// A list of texts. A single text is a list of one.
    Texts {
        form: Form,
        may_be_empty: bool,
    },
    /// A whole number from 1 to [`MAX_COUNT`].
    Count,
    /// A number above zero.
    Number,
    /// A list of numbers above zero.
    Numbers,
    Flag,
    /// A day, such as `2026-03-14`.
    Date,
    Table(&'static Table),
    /// A table for each id, such as `[part.ID]`. There are at most [`MAX_RECORDS`].
    Tables(&'static Table),
    /// A table of texts.
    Pairs {
        key: Form,
        text: Form,
    },
    /// A table of lists of texts.
    Lists {
        key: Form,
        text: Form,
    },
}

/// What a text can be.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Form {
    Any,
    /// Inline Markdown.
    Markdown,
    /// One of these words.
    OneOf(fn() -> Vec<String>),
    /// Text that a regular expression matches. It is limited to what all dialects have in common.
    Matching(&'static str),
    /// A value of one of these kinds. Without kinds: of any kind.
    Quantity(&'static [Kind]),
    /// The id of a thing of one of these kinds: `part`.
    Id(fn() -> Vec<&'static str>),
    /// An action, such as `run:engine`, or one of these words.
    Action(&'static [&'static str]),
    /// The symbol of a unit. In a table of lists: of the kind of quantity that is the key.
    Unit,
    /// The name of a rule.
    Rule,
}

/// The largest number of a field that counts.
pub(crate) const MAX_COUNT: u32 = 1_000_000;

/// The most records of a kind in a file, such as the parts of a machine.
pub(crate) const MAX_RECORDS: usize = 2_000;

/// A type that is read from a table of its own, or from a file.
pub(crate) trait Described {
    const TABLE: &'static Table;
}

/// A field of the table that a `K` is read from. The type `V` says what it holds and how it is read.
pub(crate) struct Field<K, V> {
    pub(crate) description: Description,
    of: PhantomData<fn() -> (K, V)>,
}

/// The field of this key. It is optional.
pub(crate) const fn field<K, V: FieldValue>(key: &'static str) -> Field<K, V> {
    Field {
        description: Description {
            key,
            about: "",
            is_required: false,
            value: V::VALUE,
            examples: &[],
        },
        of: PhantomData,
    }
}

impl<K, V> Field<K, V> {
    /// Reading reports a table without the field.
    pub(crate) const fn required(mut self) -> Self {
        self.description.is_required = true;
        self
    }

    pub(crate) const fn like(mut self, examples: &'static [&'static str]) -> Self {
        self.description.examples = examples;
        self
    }

    /// For [`table!`].
    pub(crate) const fn about(mut self, about: &'static str) -> Self {
        self.description.about = about;
        self
    }
}

impl<K> Field<K, Text> {
    /// The reader must accept no other text than what the regular expression matches.
    pub(crate) const fn matching(mut self, pattern: &'static str) -> Self {
        self.description.value = Value::Text(Form::Matching(pattern));
        self
    }
}

impl<K> Field<K, Quantity> {
    pub(crate) const fn of(mut self, kinds: &'static [Kind]) -> Self {
        self.description.value = Value::Text(Form::Quantity(kinds));
        self
    }
}

impl<K> Field<K, Many<Quantity>> {
    pub(crate) const fn each_of(mut self, kinds: &'static [Kind]) -> Self {
        self.description.value = Value::Texts {
            form: Form::Quantity(kinds),
            may_be_empty: false,
        };
        self
    }
}

impl<K, F: OneText> Field<K, Many<F>> {
    /// An empty list means something else than no list.
    pub(crate) const fn may_be_empty(mut self) -> Self {
        self.description.value = Value::Texts {
            form: F::FORM,
            may_be_empty: true,
        };
        self
    }
}

/// A type that says what a field holds.
pub(crate) trait FieldValue {
    const VALUE: Value;
}

/// A type that says what a text is.
pub(crate) trait OneText {
    const FORM: Form;
}

impl<F: OneText> FieldValue for F {
    const VALUE: Value = Value::Text(F::FORM);
}

/// Any text.
pub(crate) struct Text;

impl OneText for Text {
    const FORM: Form = Form::Any;
}

/// Inline Markdown.
pub(crate) struct Markdown;

impl OneText for Markdown {
    const FORM: Form = Form::Markdown;
}

/// One of the words of `T`.
pub(crate) struct OneOf<T>(PhantomData<fn() -> T>);

/// A type whose values have words in the sources.
pub(crate) trait Choice: Sized {
    /// Each word with its value.
    fn all() -> Vec<(&'static str, Self)>;
}

fn words<T: Choice>() -> Vec<String> {
    let all = T::all().into_iter();
    all.map(|(word, _)| word.to_owned()).collect()
}

impl<T: Choice> OneText for OneOf<T> {
    const FORM: Form = Form::OneOf(words::<T>);
}

/// A value such as `9 N·m ± 1 N·m`.
pub(crate) struct Quantity;

impl OneText for Quantity {
    const FORM: Form = Form::Quantity(&[]);
}

/// The name of a `T`.
pub(crate) struct Name<T>(PhantomData<fn() -> T>);

/// A type whose values are named in fields.
pub(crate) trait Named {
    const FORM: Form;
}

impl<T: Named> OneText for Name<T> {
    const FORM: Form = T::FORM;
}

/// A list of texts, or a single text.
pub(crate) struct Many<F>(PhantomData<fn() -> F>);

impl<F: OneText> FieldValue for Many<F> {
    const VALUE: Value = Value::Texts {
        form: F::FORM,
        may_be_empty: false,
    };
}

/// A whole number from 1 to [`MAX_COUNT`].
pub(crate) struct Count;

impl FieldValue for Count {
    const VALUE: Value = Value::Count;
}

/// A whole or decimal number above zero.
pub(crate) struct Number;

impl FieldValue for Number {
    const VALUE: Value = Value::Number;
}

/// A list of numbers above zero.
pub(crate) struct Numbers;

impl FieldValue for Numbers {
    const VALUE: Value = Value::Numbers;
}

/// `true` or `false`.
pub(crate) struct Flag;

impl FieldValue for Flag {
    const VALUE: Value = Value::Flag;
}

/// A day.
pub(crate) struct Date;

impl FieldValue for Date {
    const VALUE: Value = Value::Date;
}

/// The table of a single `T`.
pub(crate) struct One<T>(PhantomData<fn() -> T>);

impl<T: Described> FieldValue for One<T> {
    const VALUE: Value = Value::Table(T::TABLE);
}

/// Tables by id, one for each `T`.
pub(crate) struct ById<T>(PhantomData<fn() -> T>);

impl<T: Described> FieldValue for ById<T> {
    const VALUE: Value = Value::Tables(T::TABLE);
}

/// A table of texts: `A` says what its keys are, `B` what its texts are.
pub(crate) struct Pairs<A, B>(PhantomData<fn() -> (A, B)>);

impl<A: OneText, B: OneText> FieldValue for Pairs<A, B> {
    const VALUE: Value = Value::Pairs {
        key: A::FORM,
        text: B::FORM,
    };
}

/// A table of lists of texts: `A` says what its keys are, `B` what the items of its lists are.
pub(crate) struct Lists<A, B>(PhantomData<fn() -> (A, B)>);

impl<A: OneText, B: OneText> FieldValue for Lists<A, B> {
    const VALUE: Value = Value::Lists {
        key: A::FORM,
        text: B::FORM,
    };
}

/// Describes the table that a type is read from, as a module with its fields. Doc comments are the descriptions.
macro_rules! table {
    (
        $(#[doc = $about:literal])+
        $module:ident: $of:ty {
            $($(#[doc = $line:literal])+ $name:ident: $value:ty = $field:expr;)+
        }
    ) => {
        $(#[doc = $about])+
        pub(crate) mod $module {
            use super::*;

            static TABLE: Table = Table {
                name: stringify!($module),
                about: concat!($($about),+),
                fields: &[$(&$name.description),+],
            };

            impl Described for $of {
                const TABLE: &'static Table = &TABLE;
            }

            $(
                $(#[doc = $line])+
                pub(crate) const $name: &Field<$of, $value> = &$field.about(concat!($($line),+));
            )+
        }
    };
}
pub(crate) use table;
