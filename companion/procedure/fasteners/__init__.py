"""What is true of fasteners whatever the vehicle: threads, heads, strength, torque, and the order round.

The figures are in the `.toml` files, each with its source. The maker's value always rules over them.
"""
