"""The command line's own headings and summaries, in the language and the units of the texts it asks for.

Sentences come from the service. German and Spanish are not yet reviewed by a technician who speaks them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..client import Client
from .field_names import FIELDS, UNITS, US, ending
from .field_values import VALUES

PHRASES: dict[str, tuple[str, str, str]] = {
    # key: English, German, Spanish; what counts has "one|other"
    "decision": ("Decision: {what}.", "Entscheidung: {what}.", "Decisión: {what}."),
    "fit": ("fit", "montieren", "montar"),
    "already_within": ("already within", "schon innerhalb der Toleranz", "ya dentro de tolerancia"),
    "best_effort": ("best effort", "das Beste, was passt", "lo mejor posible"),
    "find_cause_first": ("find cause first", "zuerst die Ursache suchen", "primero buscar la causa"),
    "repair_first": ("repair first", "zuerst reparieren", "primero reparar"),
    "none_possible": ("no weights found", "keine Gewichte gefunden", "sin contrapesos hallados"),
    "problem": ("problem", "Problem", "problema"),
    "layout": ("Fit {what}:", "Montieren: {what}", "Montar: {what}"),
    "left": ("Left after it: {what}.", "Rest danach: {what}.", "Resto después: {what}."),
    "allowed": ("Allowed: {what}.", "Erlaubt: {what}.", "Permitido: {what}."),
    "or": ("Or: {what}. {how}", "Oder: {what}. {how}", "O bien: {what}. {how}"),
    "inboard": ("inner", "innen", "interior"),
    "outboard": ("outer", "außen", "exterior"),
    "static": ("static", "statisch", "estático"),
    "next": ("Next", "Als Nächstes", "A continuación"),
    "at_the_wheel": ("At the wheel", "Am Rad", "En la rueda"),
    "mind": ("Mind", "Beachten", "Atención"),
    "not_measured": ("Not measured", "Nicht gemessen", "No medido"),
    "quantity": ("quantity", "Menge", "cantidad"),
    "price": ("price", "Preis", "precio"),
    "amount": ("amount", "Betrag", "importe"),
    "piece": ("piece|pieces", "Stück|Stück", "pieza|piezas"),
    "segment": ("segment|segments", "Segment|Segmente", "segmento|segmentos"),
    "wheel": ("wheel|wheels", "Rad|Räder", "rueda|ruedas"),
    "vehicle": ("vehicle|vehicles", "Fahrzeug|Fahrzeuge", "vehículo|vehículos"),
    "kg": ("kg|kg", "kg|kg", "kg|kg"),
    "tax": (
        "At {rate} tax: {net} + {tax}",
        "Mit {rate} Steuer: {net} + {tax}",
        "Impuesto {rate}: {net} + {tax}",
    ),
    "no_tax": ("Without tax: {net}", "Ohne Steuer: {net}", "Sin impuesto: {net}"),
    "to_pay": ("To be paid: {what}", "Zu zahlen: {what}", "A pagar: {what}"),
    "not_priced": ("Not priced", "Ohne Preis", "Sin precio"),
    "weights": ("weights", "Gewichte", "contrapesos"),
    "labour": ("labour", "Arbeit", "mano de obra"),
    "disposal": ("disposal", "Entsorgung", "eliminación"),
    "per_vehicle": ("per vehicle", "je Fahrzeug", "por vehículo"),
    "to_fetch": ("To fetch", "Zu holen", "Para recoger"),
    "no_shelf": ("no place noted", "kein Fach notiert", "sin estante anotado"),
    "cut": ("{pieces} of {segments}", "{pieces} zu {segments}", "{pieces} de {segments}"),
    "recycling": ("To recycling", "Zum Recycling", "A reciclar"),
    "unweighed": ("and {count} not weighed", "und {count} nicht gewogen", "y {count} sin pesar"),
    "lead": ("lead", "Blei", "plomo"),
    "zinc": ("zinc", "Zink", "zinc"),
    "steel": ("steel", "Stahl", "acero"),
    "other": ("other", "anderes", "otros"),
    "checked": (
        "{wheels} checked: {passing} passing, {failing} failing.",
        "{wheels} geprüft: bestanden {passing}, nicht bestanden {failing}.",
        "Comprobación de {wheels}: pasan {passing}, no pasan {failing}.",
    ),
    "why_not": ("Why not:", "Warum nicht:", "Por qué no:"),
    "which": ("Which:", "Welche:", "Cuáles:"),
    "first_of_them": ("The first {count} of them:", "Die ersten {count} davon:", "Las primeras {count}:"),
    "row": ("row {row}", "Zeile {row}", "fila {row}"),
    "no_reference": ("no reference", "ohne Bezeichnung", "sin referencia"),
    "broken_off": (
        "broken off after {done} of {total} wheels; the same command goes on from here",
        "abgebrochen nach {done} von {total} Rädern; derselbe Befehl macht hier weiter",
        "interrumpido tras {done} de {total} ruedas; la misma orden sigue desde aquí",
    ),
    "broken_off_output": (
        "broken off after {done} of {total} wheels; only a run that writes to a file can go on",
        "abgebrochen nach {done} von {total} Rädern; weitermachen kann nur, wer in eine Datei schreibt",
        "interrumpido tras {done} de {total} ruedas; solo se puede seguir si se escribe en un archivo",
    ),
    "interrupted": ("broken off", "abgebrochen", "interrumpido"),
    "wheels": ("wheels", "Räder", "ruedas"),
    "yes": ("yes", "ja", "sí"),
    "no": ("no", "nein", "no"),
    "progress": (
        "{done} of {total} wheels, {rate} a second",
        "{done} von {total} Rädern, {rate} je Sekunde",
        "{done} de {total} ruedas, {rate} por segundo",
    ),
    "time_left": (", about {time} left", ", noch etwa {time}", ", faltan unos {time}"),
    "within_acceptance": ("within the limits", "innerhalb der Toleranz", "dentro de tolerancia"),
    "fitted": ("wheels that get weights", "Räder, die Gewichte bekommen", "ruedas que llevan contrapesos"),
    "mean_static_g": ("left, static [g]", "Rest, statisch [g]", "resto, estático [g]"),
    "mean_largest_residual_g": ("left, largest [g]", "Rest, größter [g]", "resto, el mayor [g]"),
    "mean_pass_chance_pct": ("chance to pass [%]", "bestehen [%]", "pasan [%]"),
    "mean_pieces": ("weights a wheel", "Gewichte je Rad", "contrapesos por rueda"),
    "mean_mass_g": ("mass a wheel [g]", "Masse je Rad [g]", "masa por rueda [g]"),
    "total_price": ("price of all", "Preis von allem", "precio de todo"),
    "unpriced": ("without a price", "ohne Preis", "sin precio"),
    "as_asked": ("as asked", "wie angefragt", "como se pidió"),
    "less_that": ("without {what}", "ohne {what}", "sin {what}"),
    "used": ("Used {shelf}:", "Gebraucht, {shelf}:", "Usado, {shelf}:"),
    "use": ("{pieces} {sku}, on {wheels}", "{pieces} {sku}, an {wheels}", "{pieces} {sku}, en {wheels}"),
    "unusable": (
        "Rows that could not be used, {count}; the first of them:",
        "Nicht verwendbare Zeilen, {count}; die ersten davon:",
        "Filas que no se pudieron usar, {count}; las primeras:",
    ),
    "doubted": (
        "Rows that are unlikely, {count}; the first of them:",
        "Unwahrscheinliche Zeilen, {count}; die ersten davon:",
        "Filas poco probables, {count}; las primeras:",
    ),
    "machine_sd_g": ("Readings stray {sd}", "Messungen streuen um {sd}", "Las lecturas varían {sd}"),
    "centring_sd_g": ("Clamping again strays {sd}", "Neu spannen streut um {sd}", "Sujetar de nuevo varía {sd}"),
    "angle_sd_deg": (
        "Weights land off their angle by {sd}",
        "Gewichte liegen neben ihrem Winkel um {sd}",
        "Los contrapesos se desvían de su ángulo {sd}",
    ),
    "clip_position_sd_mm": (
        "Clip-ons land off sideways by {sd}",
        "Schlaggewichte liegen seitlich daneben um {sd}",
        "Las grapas se desvían de lado {sd}",
    ),
    "strip_position_sd_mm": (
        "Strips land off sideways by {sd}",
        "Klebegewichte liegen seitlich daneben um {sd}",
        "Las tiras se desvían de lado {sd}",
    ),
    "mass_sd_pct": (
        "Weights stray from their mass by {sd}",
        "Gewichte weichen von ihrer Masse ab um {sd}",
        "Los contrapesos se desvían de su masa {sd}",
    ),
    "estimate": ("{what} ({low} to {high}).", "{what} ({low} bis {high}).", "{what} ({low} a {high})."),
    "unknown_amount": ("an amount not yet known", "einen noch unbekannten Betrag", "una cantidad aún desconocida"),
    "unknown_sd": ("not known", "unbekannt", "no se sabe"),
    "any": ("any", "beliebig", "cualquiera"),
    "send": ("Send with every plan: {what}", "Mit jedem Plan senden: {what}", "Enviar con cada plan: {what}"),
    "first_pass": (
        "Passed the first check spin: {what}.",
        "Ersten Kontrolllauf bestanden: {what}.",
        "Pasaron el primer giro de comprobación: {what}.",
    ),
    "forecast": ("forecast, mean", "Vorhersage, Mittel", "previsto, media"),
    "jobs": ("jobs", "Aufträge", "trabajos"),
    "passed": ("passed (95% interval)", "bestanden (95-%-Bereich)", "pasaron (intervalo del 95 %)"),
    "brier": (
        "Brier score {what}; 0 is best, 0.25 is a coin's.",
        "Brier-Wert {what}; 0 ist am besten, 0,25 wie eine Münze.",
        "Índice de Brier {what}; 0 es lo mejor, 0,25 como una moneda.",
    ),
    "left_out": (
        "Left out as strange: entry {number} of {list}.",
        "Als auffällig weggelassen: Eintrag {number} von {list}.",
        "Omitida por extraña: entrada {number} de {list}.",
    ),
    "unlikely": (
        "Unlikely: entry {number} of {list}:",
        "Unwahrscheinlich: Eintrag {number} von {list}:",
        "Poco probable: entrada {number} de {list}:",
    ),
    "clip_on": ("clip-on weights", "Schlaggewichte", "contrapesos de grapa"),
    "adhesive": ("adhesive weights", "Klebegewichte", "contrapesos adhesivos"),
    "cost_a_wheel": ("cost a wheel", "Kosten je Rad", "coste por rueda"),
    "within_pct": ("wheels within limits [%]", "Räder in der Toleranz [%]", "ruedas en tolerancia [%]"),
    "per_hundred": ("pieces per 100 wheels", "Stück je 100 Räder", "piezas por 100 ruedas"),
    "more_or_fewer": ("more or fewer", "mehr oder weniger", "más o menos"),
    "weights_for": ("Weights for {wheels}", "Gewichte für {wheels}", "Contrapesos para {wheels}"),
    "mass_of_a_piece": ("mass of a piece [g]", "Masse eines Gewichts [g]", "masa de una pieza [g]"),
    "come_true": ("chances come true", "Vorhersagen treffen ein", "las previsiones se cumplen"),
    "forecast_axis": (
        "forecast to pass, mean [%]",
        "Vorhersage: bestehen, Mittel [%]",
        "se preveía que pasaran, media [%]",
    ),
    "passed_axis": (
        "passed the first check spin [%]",
        "ersten Kontrolllauf bestanden [%]",
        "pasaron el primer giro de comprobación [%]",
    ),
}
RIDER = {"inboard": ("left", "links", "izquierda"), "outboard": ("right", "rechts", "derecha")}
"""A motorcycle's sides, as the rider sits."""


@dataclass(frozen=True, slots=True)
class Phrases:
    """Headings for a reader; the first part of the language's tag decides, English where there is none.

    >>> Phrases("de-AT")("wheel", count=2), Phrases(units="us").mass(35.44), Phrases("es").mass(2.5)
    ('2 Räder', '1.25 oz', '2,5 g')
    """

    language: str | None = None
    units: str | None = None
    rider: bool = False

    @classmethod
    def of(cls, client: Client, asked: object = None) -> Phrases:
        """For the texts that a client asks for; left and right if the request is about a motorcycle's wheel."""
        wheel = asked.get("wheel") if isinstance(asked, dict) else None
        rider = isinstance(wheel, dict) and wheel.get("vehicle_class") == "motorcycle"
        return cls(client.settings.language, client.settings.units, rider)

    @property
    def _column(self) -> int:
        return {"de": 1, "es": 2}.get((self.language or "").partition("-")[0].lower(), 0)

    def __call__(self, key: str, count: int | None = None, **values: object) -> str:
        """A phrase with its values; with ``count`` the number and its form. Raises KeyError."""
        table = RIDER if self.rider and key in RIDER else PHRASES
        text = table[key][self._column]
        if self.units == "us":
            text = text.replace("[g]", "[oz]")
        if count is not None and "|" in text:
            one, other = text.split("|")
            return f"{count} {one if count == 1 else other}"
        return text.format(count=count, **values)

    def known(self, word: str) -> str:
        """A word of the service's, without underscores where it is none of these."""
        return self(word) if word in PHRASES and "{" not in PHRASES[word][0] else word.replace("_", " ")

    def field(self, name: str, *, inside: bool = False) -> str:
        """The name of an answer's field in words, with a capital unless it stands ``inside`` a line.

        >>> Phrases().field("static_angle_deg"), Phrases("de").field("saving_g")
        ('Static angle', 'Ersparnis')
        """
        name = name.removesuffix(ending(name))
        text = self._translated(FIELDS, name)
        return text if inside else text[:1].upper() + text[1:]

    def value(self, word: str) -> str:
        """A word that a field of an answer has.

        >>> Phrases().value("take_off"), Phrases("es").value("take_off"), Phrases("de").value("Ring 3")
        ('take off', 'quitar', 'Ring 3')
        """
        return self._translated(VALUES, word)

    def _translated(self, table: Mapping[str, tuple[str, str]], name: str) -> str:
        return table[name][self._column - 1] if self._column and name in table else name.replace("_", " ")

    def number(self, value: float, digits: int, *, sign: bool = False) -> str:
        """With that many decimals, and the language's comma."""
        text = f"{value:+.{digits}f}" if sign else f"{value:.{digits}f}"
        return self.decimal(text)

    def count(self, number: int) -> str:
        """Thousands set apart, as the language does.

        >>> Phrases().count(12000), Phrases("de").count(12000)
        ('12,000', '12.000')
        """
        return f"{number:,}".replace(",", ".") if self._column else f"{number:,}"

    def decimal(self, text: str) -> str:
        """A number with the language's comma."""
        return text.replace(".", ",") if self._column else text

    def scaled(self, name: str, value: float) -> tuple[float, str]:
        """A value in the reader's units, and the unit, by the end of its name.

        >>> Phrases(units="us").scaled("radius_mm", 254.0), Phrases().scaled("a_deg", 3.0)
        ((10.0, ' in'), (3.0, '°'))
        """
        unit_end = ending(name)
        factor, unit = US.get(unit_end, (1.0, "")) if self.units == "us" else (1.0, "")
        return value / factor, unit or UNITS.get(unit_end, "")

    def measure(self, name: str, value: float, digits: int) -> str:
        """A value with its unit, by the end of its name."""
        number, unit = self.scaled(name, value)
        return f"{self.number(number, digits)}{unit}"

    def mass(self, mass_g: float) -> str:
        """To a tenth of a gram, or a hundredth of an ounce."""
        if self.units == "us":
            return self.measure("_g", mass_g, 2)
        return self.measure("_g", mass_g, 0 if round(mass_g, 1) % 1 == 0 else 1)

    def percent(self, value: float) -> str:
        """Whole."""
        return f"{value:.0f}%" if not self._column else f"{value:.0f} %"
