"""What an ear or a computer makes of sound; arrays in, arrays out."""
