//! Lines on disk: reading, appending, following. It holds no opinion on what the lines mean.
