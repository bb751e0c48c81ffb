"""Speech: sound in, transcript out; subtitle files in and out."""
