"""The trade's words: vocabulary packs, their names and how they sound."""
