"""What is to be done: the model of a procedure, how it is read, and how it is worded for the ear."""
