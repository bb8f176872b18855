"""Words in the heads of a log's columns, in several languages, and what they speak for."""

from __future__ import annotations

from collections.abc import Mapping

MEANINGS: Mapping[str, Mapping[str, float]] = {
    "time": {"time": 3, "timestamp": 4, "t": 2, "clock": 3, "elapsed": 3, "seconds": 3, "sec": 2, "zeit": 4,
             "uhrzeit": 5, "zeitstempel": 5, "tijd": 4, "temps": 3, "hora": 3, "tempo": 3, "millis": 4,
             "datetime": 4, "ms": 2, "utc": 2, "heure": 3, "interval": 1, "secs": 3, "s": 1, "tiempo": 4,
             "stamp": 2},
    "speed": {"speed": 3, "velocity": 4, "mph": 4, "kph": 4, "kmh": 4, "geschwindigkeit": 5, "geschw": 5,
              "vitesse": 4, "velocidad": 4, "snelheid": 5, "vss": 5, "road": 2, "vehicle": 2, "ground": 2,
              "gps": 1, "v": 2, "spd": 3, "velocita": 4, "km/h": 4, "sog": 4, "knots": 3, "kn": 2, "car": 1,
              "vehiculo": 2, "vehicule": 2, "fahrzeug": 2, "veicolo": 2},
    "engine-speed": {"rpm": 4, "tach": 5, "tacho": 5, "tachometer": 5, "engine": 3, "motor": 3, "eng": 3,
                     "drehzahl": 4, "motordrehzahl": 6, "revs": 4, "rev": 3, "regime": 4, "toeren": 4,
                     "toerental": 5, "giri": 5, "nmot": 6, "crank": 3, "crankshaft": 5, "n": 2, "krpm": 4,
                     "speed": 1, "moteur": 3, "regimen": 4, "revoluciones": 4, "vueltas": 3, "motore": 3,
                     "tours": 3},
    "output-speed": {"output": 5, "propshaft": 6, "prop": 4, "driveshaft": 5, "oss": 6, "tailshaft": 6,
                     "abtrieb": 6, "shaft": 3, "rpm": 1, "speed": 1, "drehzahl": 1, "kardan": 5,
                     "kardanwelle": 6, "gelenkwelle": 6, "abtriebswelle": 6, "cardan": 5, "sortie": 4,
                     "salida": 4},
    "vacuum": {"vacuum": 6, "vac": 6, "unterdruck": 6, "depression": 5, "vakuum": 6,
               "vacio": 6, "depresion": 5, "depressione": 6, "vuoto": 5, "vide": 4},
    "manifold-pressure": {"map": 5, "manifold": 4, "intake": 3, "inlet": 3, "saugrohr": 5, "saugrohrdruck": 6,
                          "boost": 4, "pressure": 1, "abs": 1, "collecteur": 4,
                          "saug": 5, "admission": 4, "admision": 4, "colector": 4, "collettore": 4,
                          "aspirazione": 4, "tubulure": 4, "pression": 1, "presion": 1, "druck": 1},
    "line-pressure": {"line": 4, "main": 2, "pump": 3, "gearbox": 3, "transmission": 3, "trans": 3, "atf": 3,
                      "pressure": 2, "press": 2, "leitungsdruck": 6, "hauptdruck": 6, "druck": 2, "psi": 2,
                      "pression": 2, "presion": 2, "boite": 3, "caja": 3, "getriebe": 3},
    "throttle": {"throttle": 6, "tps": 6, "pedal": 5, "accelerator": 5, "gas": 4, "gaspedal": 6, "app": 4,
                 "drosselklappe": 6, "papillon": 5, "accel": 1, "drossel": 6, "wot": 2, "acelerador": 5,
                 "mariposa": 6, "farfalla": 6, "drosselklappenwinkel": 6, "pedalstellung": 5,
                 "accelerateur": 5},
    "lever": {"lever": 6, "selector": 6, "range": 4, "prnd": 6, "prndl": 6, "shifter": 4, "waehlhebel": 6},
}  # fmt: skip
"""Words in the name of a column and how strongly each speaks for a meaning: judgement, no source."""

COUNTERS = frozenset(
    {"sample", "samples", "index", "row", "record", "count", "counter", "no", "nr", "line", "id"}
)
"""Words of a column that counts rows: it grows as a time does and is none."""

AGAINST: Mapping[str, frozenset[str]] = {
    "time": frozenset({"date", "datum", "lap", "gps_week", "delta", "dt", "duration"}) | COUNTERS,
    "speed": frozenset({"engine", "motor", "rpm", "wind", "fan", "output", "turbine", "accuracy", "error",
                        "drehzahl", "crank", "shaft", "limit", "target", "vertical", "input", "pump",
                        "battery", "batterie", "voltage", "volt", "volts", "wheel", "raddrehzahl", "idle",
                        "average", "avg", "mittel", "vent", "viento", "regime", "acceleration", "accel"}),
    "engine-speed": frozenset({"output", "turbine", "propshaft", "temp", "temperature", "load", "shaft",
                               "oil", "wheel", "input", "coolant", "limit", "target", "torque", "mph", "kmh",
                               "gps", "fan", "luefter", "raddrehzahl", "pump", "idle", "battery", "voltage",
                               "altitude", "oel", "temperatur", "soll", "kardan", "abtrieb", "last"}),
    "output-speed": frozenset({"torque", "temp", "voltage", "fan", "turbine", "idle", "target", "wheel",
                               "pump", "input", "engine", "motor", "crank", "current", "pressure",
                               "luefter", "oil"}),
    "vacuum": frozenset({"temp"}),
    "manifold-pressure": frozenset({"temp", "temperature", "air", "oil", "line", "baro",
                                    "barometric", "ambient", "target", "oel", "temperatur", "fuel"}),
    "line-pressure": frozenset({"engine", "oil", "fuel", "manifold", "tyre", "tire", "baro", "barometric",
                                "intake", "brake", "map", "governor", "ambient", "vacuum", "current",
                                "saug", "saugrohr", "saugrohrdruck", "admission", "admision", "inlet", "oel",
                                "boost", "depression", "coolant", "umgebung", "reifen", "kraftstoff"}),
    "throttle": frozenset({"temp", "brake", "clutch", "acceleration", "lateral",
                           "battery", "timing", "ignition", "heading", "lambda"}),
    "lever": frozenset({"fuel", "battery"}),
}  # fmt: skip

STEMS = ("geschwindigkeit", "motordrehzahl", "drehzahl", "kardan", "abtrieb", "gelenkwelle", "turbine",
         "drosselklappe", "unterdruck", "saugrohr", "temperatur", "luefter", "raddrehzahl", "batterie",
         "leitungsdruck", "hauptdruck", "eingang")  # fmt: skip
"""Words that German writes together with others."""

KNOWN = frozenset(word for words in MEANINGS.values() for word in words)

BY_UNIT_ALONE = frozenset({"time", "speed", "engine-speed"})
"""What a unit alone can tell of a column; a pressure or a voltage may be of many things."""

NO_WORDS_OF_ITS_OWN = frozenset({"rpm", "speed", "drehzahl"})
"""Words that do not tell an output shaft from another."""

NO_UNITS = frozenset(
    {
        "in",
        "ins",
        "inch",
        "vac",
        "vacuum",
        "of vacuum",
        "lb",
        "lbs",
        "pound",
        "pounds",
        "t",
        "n",
        "v",
        "#",
        "time",
    }
)
"""Words of a column's name that are a unit elsewhere, but not here."""

USUAL_UNITS: Mapping[str, str] = {
    "time": "s", "speed": "mph", "engine-speed": "rpm", "output-speed": "rpm", "vacuum": "inHg",
    "manifold-pressure": "kPa", "line-pressure": "psi", "throttle": "%", "lever": "",
}  # fmt: skip
