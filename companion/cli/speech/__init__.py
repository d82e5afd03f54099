"""Commands about hearing: hear, phrases, models."""
