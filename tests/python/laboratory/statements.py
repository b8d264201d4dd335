"""Writes what a site or verification file states, and draws the truth from it."""

SHAPES = ("rectangular", "triangular", "normal", "student")


class Statements:
    """The lines of a file by section, beside truths that are drawn as they say."""

    def __init__(self, generator, scale=1.0):
        self.generator = generator
        self.scale = scale
        """Of all uncertainties."""
        self.lines = {}
        self.truths = {}
        """In the units of the file, by the name of the input."""

    def key(self, section, line):
        self.lines.setdefault(section, []).append(line)

    def stated(self, section, key, estimate, u, unit, factor, shape=None):
        """State a value with its standard uncertainty, and return a truth in SI units."""
        line, truth = stated(self.generator, estimate, self.scale * u, unit, shape)
        self.key(section, f"{key} = {line}")
        self.truths[f"{section}.{key}"] = truth
        return truth * factor

    def measured(self, section, key, truth, scatter, unit, factor, count):
        """State readings about a truth of which nothing was known before them."""
        readings = truth + self.scale * scatter * self.generator.standard_normal(count)
        quoted = ", ".join(f'"{value:.9f} {unit}"' for value in readings)
        self.key(section, f"{key} = {{ readings = [{quoted}] }}")
        self.truths[f"{section}.{key}"] = truth
        return truth * factor

    def text(self):
        """The sections in the order in which they were begun."""
        parts = (f"[{section}]\n" + "\n".join(lines) for section, lines in self.lines.items())
        return "\n".join(parts) + "\n"


def stated(generator, estimate, u, unit, shape=None):
    """A value with its standard uncertainty as a file has it, and a truth in the same unit."""
    if u == 0:
        return f'"{estimate:.12g} {unit}"', estimate
    shape = shape or generator.choice(SHAPES)
    spread = {"rectangular": 3**0.5, "triangular": 6**0.5}.get(shape)
    if spread:
        words = f'half_width = "{u * spread:.12g} {unit}", shape = "{shape}"'
        ends = (-u * spread, u * spread)
        deviation = (
            generator.uniform(*ends)
            if shape == "rectangular"
            else generator.triangular(ends[0], 0, ends[1])
        )
    else:
        dof = "" if shape == "normal" else ", dof = 9"
        words = f'standard_uncertainty = "{u:.12g} {unit}"{dof}'
        normal = shape == "normal"
        deviation = u * (generator.standard_normal() if normal else generator.standard_t(9))
    return f'{{ value = "{estimate:.12g} {unit}", {words} }}', estimate + deviation
