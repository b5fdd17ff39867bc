"""Numbers as they are said, and their values."""

from __future__ import annotations

# How people say numbers at work: common practice, no source.
SAID = [
    ("zero", "0"), ("one", "1"), ("twelve", "12"), ("twenty", "20"), ("thirty two", "32"), ("one hundred", "100"),
    ("a hundred and five", "105"), ("one hundred five", "105"), ("nine hundred and ninety nine", "999"),
    ("twelve hundred", "1200"), ("thirteen hundred and fifty", "1350"), ("a thousand", "1000"),
    ("one thousand and one", "1001"), ("one thousand five", "1005"), ("twelve thousand", "12000"),
    ("two thousand four hundred and fifty", "2450"), ("a hundred thousand", "100000"),
    ("nine hundred and ninety nine thousand nine hundred and ninety nine", "999999"),
    ("thirty two point five", "32.5"), ("thirty two point five zero", "32.50"), ("point one five", "0.15"),
    ("oh point oh five", "0.05"), ("zero point double oh five", "0.005"), ("point oh oh two five", "0.0025"),
    ("thirty two point twenty five", "32.25"), ("point fifty", "0.50"), ("one point fifteen", "1.15"),
    ("a hundred and five point two", "105.2"), ("three two", "32"), ("three two point five", "32.5"),
    ("one oh five", "105"), ("one zero five", "105"), ("one double oh", "100"), ("double five", "55"),
    ("one two three four five", "12345"), ("half", "0.5"), ("a half", "0.5"), ("one half", "0.5"),
    ("a quarter", "0.25"), ("three quarters", "0.75"), ("two and a half", "2.5"), ("two and three quarters", "2.75"),
    ("a hundred and a half", "100.5"), ("one hundred and three quarters", "100.75"),
    ("one hundred and three and three quarters", "103.75"), ("seven eighths", "0.875"),
    ("three sixteenths", "0.1875"), ("minus five", "-5"), ("negative two and a half", "-2.5"),
    ("minus point one zero", "-0.10"), ("minus fifteen", "-15"), ("plus five", "5"), ("seven tenths", "0.7"),
    ("one tenth", "0.1"), ("five hundredths", "0.05"), ("fifty hundredths", "0.50"), ("a hundredth", "0.01"),
    ("twenty five thousandths", "0.025"), ("two and seven tenths", "2.7"), ("two and five hundredths", "2.05"),
    ("minus two hundredths", "-0.02"), ("nineteen and a thousandth", "19.001"),
]  # fmt: skip
