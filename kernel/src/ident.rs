//! Small typed indices, one type for each kind of thing.
//!
//! Invariant: an id is made by the list that owns the thing and indexes only that list. Knows nothing of
//! what the things are.

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(u32);

        impl $name {
            /// The id of the thing at `index` of its list.
            ///
            /// # Panics
            /// If the list is longer than 2³² things.
            #[must_use]
            pub fn new(index: usize) -> Self {
                Self(u32::try_from(index).expect("a list of ids stays below 2^32"))
            }

            /// Position in the list, as it is saved.
            #[must_use]
            pub fn number(self) -> u32 {
                self.0
            }

            /// Position in the list.
            #[must_use]
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

id!(
    /// A feature of a history.
    FeatureId
);
id!(
    /// A free number of a history, and the variable it becomes in the solver.
    VarId
);
id!(
    /// A dimension of a history, and the relation it becomes in the solver.
    DimensionId
);
id!(
    /// A flat panel of a fold tree.
    PanelId
);
id!(
    /// A bend of a fold tree.
    BendId
);
id!(
    /// A form of a fold tree.
    FormId
);
id!(
    /// A vertex of a boundary representation.
    VertexId
);
id!(
    /// An edge of a boundary representation.
    EdgeId
);
