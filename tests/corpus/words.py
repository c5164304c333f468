"""Plain words of four dialects of laboratory English and of laboratory Spanish. Common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass

from facts import ANALYTES

_ENGLISH_LEGEND = (
    "ND = not detected at or above the limit shown",
    "< = less than the reporting limit",
    "NA = not analyzed",
    "Bold values exceed the level shown",
)


@dataclass(frozen=True)
class Dialect:
    """The words one kind of author uses; every tuple offers alternatives."""

    sample: tuple[str, ...]
    well: tuple[str, ...]
    analyte: tuple[str, ...]
    result: tuple[str, ...]
    unit: tuple[str, ...]
    flag: tuple[str, ...]
    limit: tuple[tuple[str, str], ...]
    lower: tuple[str, ...]
    lab: tuple[str, ...]
    date: tuple[str, ...]
    depth: tuple[str, ...]
    depths: tuple[str, ...]
    matrix: tuple[str, ...]
    basis: tuple[str, str]
    dates: str
    soils: tuple[str, ...]
    waters: tuple[str, ...]
    names: tuple[tuple[str, ...], ...]
    matrices: dict[str, tuple[str, ...]]
    titles: dict[str, tuple[str, ...]]
    stated: tuple[str, ...]
    dry: str
    sections: tuple[str, str, str]
    level: tuple[str, ...]
    statistics: tuple[str, str]
    legend: tuple[str, ...] = _ENGLISH_LEGEND

    def called(self, analyte: str) -> tuple[str, ...]:
        """The names this author may use for an analyte."""
        return self.names[ANALYTES.index(analyte)]


DIALECTS = {
    "US consultant": Dialect(
        sample=("Sample ID", "Sample Name", "Sample Identification", "Sample Designation"),
        well=("Well ID", "Monitoring Well"),
        analyte=("Analyte", "Constituent", "Chemical", "Compound"),
        result=("Result", "Concentration"),
        unit=("Units", "Unit"),
        flag=("Q", "Qual", "Qualifier", "Flag"),
        limit=(("RL", "reporting_limit"), ("Reporting Limit", "reporting_limit"), ("PQL", "quantitation_limit")),
        lower=("MDL", "Detection Limit"),
        lab=("Lab ID", "Lab Sample ID"),
        date=("Date Sampled", "Sample Date", "Collection Date"),
        depth=("Depth (ft)", "Depth (ft bgs)", "Sample Depth (feet)"),
        depths=("4-6", "8-10", "2-4", "6-8", "4-6", "10-12"),
        matrix=("Matrix", "Media"),
        basis=("Basis", "Dry"),
        dates="%m/%d/%Y",
        soils=("SB-1 (4-6)", "SB-2 (8-10)", "SB-3 (2-4)", "SB-4 (6-8)", "SB-5 (4-6)", "SB-6 (10-12)"),
        waters=("MW-1", "MW-2", "MW-3", "MW-4", "MW-5R", "MW-6D"),
        names=(
            ("Benzene",),
            ("Toluene",),
            ("Ethylbenzene",),
            ("Total Xylenes", "Xylenes (total)", "Xylenes"),
            ("MTBE", "Methyl tert-butyl ether (MTBE)"),
            ("Naphthalene",),
            ("GRO", "Gasoline Range Organics (GRO)", "TPH-g", "TPH as gasoline"),
            ("Lead", "Total Lead"),
        ),
        matrices={"soil": ("Soil",), "groundwater": ("Groundwater", "Ground Water")},
        titles={
            "soil": ("Soil Analytical Results", "Summary of Soil Analytical Data"),
            "groundwater": ("Groundwater Analytical Results", "Summary of Groundwater Analytical Data"),
        },
        stated=(
            "All results in {unit}",
            "Notes: All concentrations are reported in {words} ({unit})",
            "Concentrations in {unit} unless otherwise noted",
            "Results reported in {words} ({unit}).",
        ),
        dry="Soil results are reported on a dry weight basis",
        sections=("Volatile Organic Compounds", "Petroleum Hydrocarbons", "Metals"),
        level=("Closure Level", "Screening Level", "Action Level", "Cleanup Standard"),
        statistics=("Maximum", "Number of detections"),
    ),
    "US laboratory": Dialect(
        sample=("Client Sample ID", "Client ID", "Field ID", "Field Sample ID"),
        well=("Client Sample ID",),
        analyte=("Analyte", "Parameter", "Compound", "Analyte Name"),
        result=("Result", "Reported Result", "Analytical Result", "Final Result"),
        unit=("Units", "Result Units", "Reporting Units"),
        flag=("Qualifier", "Lab Qualifier", "Qual", "Q"),
        limit=(
            ("RL", "reporting_limit"),
            ("Reporting Limit", "reporting_limit"),
            ("PQL", "quantitation_limit"),
            ("LOQ", "quantitation_limit"),
            ("MRL", "reporting_limit"),
        ),
        lower=("MDL", "Method Detection Limit", "DL"),
        lab=("Lab Sample ID", "Laboratory ID", "Lab ID"),
        date=("Date Collected", "Collected", "Collection Date"),
        depth=("Depth (ft)",),
        depths=("5-6", "5-6", "6-7", "6-7", "2-3", "2-3"),
        matrix=("Matrix", "Sample Matrix"),
        basis=("Basis", "Dry Weight"),
        dates="%m/%d/%y",
        soils=("TP1-E-6", "TP1-W-6", "TP1-N-7", "TP1-S-7", "PL-1-3", "DISP-2-3"),
        waters=("MW-1-0524", "MW-2-0524", "MW-3-0524", "MW-4-0524", "MW-5-0524", "MW-6-0524"),
        names=(
            ("Benzene",),
            ("Toluene",),
            ("Ethylbenzene",),
            ("Xylenes, Total", "Total Xylenes", "Xylene (Total)"),
            ("Methyl tert-butyl ether", "Methyl-tert-butyl ether", "Methyl tert-Butyl Ether (MTBE)"),
            ("Naphthalene",),
            ("Gasoline Range Organics", "GRO", "TPH-GRO"),
            ("Lead", "Lead, Total"),
        ),
        matrices={"soil": ("Soil", "Solid"), "groundwater": ("Ground Water", "Water", "Aqueous")},
        titles={
            "soil": ("Analytical Results - Soil", "Soil Sample Results"),
            "groundwater": ("Analytical Results - Groundwater", "Groundwater Sample Results"),
        },
        stated=("All results in {unit}", "Units: {unit}", "Results in {unit}"),
        dry="Soil results and limits are reported on a dry weight basis.",
        sections=("Volatile Organics", "Petroleum Hydrocarbons", "Total Metals"),
        level=("Regulatory Limit", "Action Level", "Comparison Level"),
        statistics=("Maximum", "Number of detections"),
        legend=(
            "U = Analyte was not detected at or above the reporting limit",
            "J = Estimated value, below the reporting limit and above the detection limit",
            "RL = reporting limit; MDL = method detection limit",
            "Results relate only to the samples tested.",
        ),
    ),
    "UK and Australian laboratory": Dialect(
        sample=("Sample Reference", "Client Sample Ref", "Client sample ID", "Sample Ref", "Customer Sample Reference"),
        well=("Borehole", "Monitoring Well"),
        analyte=("Determinand", "Compound", "Test", "Analyte", "Parameter"),
        result=("Result", "Test Result", "Measured Value"),
        unit=("Units", "Unit"),
        flag=("Flag", "Qualifier", "Data Qualifier"),
        limit=(
            ("LOR", "reporting_limit"),
            ("LOD", "detection_limit"),
            ("Limit of Detection", "detection_limit"),
            ("Limit of Reporting", "reporting_limit"),
            ("LOQ", "quantitation_limit"),
        ),
        lower=("LOD",),
        lab=("Lab Sample No.", "Lab Sample Number", "Laboratory Reference"),
        date=("Date Sampled", "Sampled Date", "Sampling Date"),
        depth=("Depth (m)", "Depth (m bgl)", "Sample Depth (m)"),
        depths=("0.5-1.0", "1.5-2.0", "0.3-0.4", "0.8-0.9", "2.0-2.2", "1.2-1.3"),
        matrix=("Sample Type", "Matrix", "Sample Matrix"),
        basis=("Basis", "Dry weight"),
        dates="%d/%m/%Y",
        soils=("BH101_0.5-1.0", "BH102_1.5-2.0", "TP03_0.3", "TP04_0.8", "BH105_2.0", "TP06_1.2"),
        waters=("BH101", "BH102", "BH103S", "BH103D", "MW05", "MW06"),
        names=(
            ("Benzene",),
            ("Toluene",),
            ("Ethylbenzene", "Ethyl Benzene"),
            ("Total Xylenes", "Xylenes (Total)", "Total Xylene"),
            ("MTBE", "Methyl Tertiary Butyl Ether", "Methyl tertiary-butyl ether (MTBE)"),
            ("Naphthalene",),
            ("Gasoline Range Organics (GRO)", "Gasoline Range Organics", "GRO"),
            ("Lead", "Lead (Total)", "Pb"),
        ),
        matrices={"soil": ("Soil", "SOIL"), "groundwater": ("Groundwater", "Ground water", "Water")},
        titles={
            "soil": ("Soil Analysis", "Results of analysis of soil samples", "Soils - Laboratory Results"),
            "groundwater": ("Groundwater Analysis", "Results of analysis of groundwater samples"),
        },
        stated=("All results expressed as {unit}", "All results in {unit}", "Results are in {words} ({unit})"),
        dry="Soil results are expressed on a dry weight basis",
        sections=("Volatile Organic Compounds", "Total Petroleum Hydrocarbons", "Heavy Metals"),
        level=("Guideline Value", "Assessment Criterion", "Investigation Level", "Trigger Value"),
        statistics=("Maximum", "No. of detects"),
        legend=(
            "LOD = limit of detection; LOR = limit of reporting",
            "NA = not analysed",
            "This report shall not be copied in part",
        ),
    ),
    "Canadian laboratory": Dialect(
        sample=("Sample ID", "Client Sample ID", "Sample Identification", "Client Identification", "Sample Name"),
        well=("Monitoring Well", "Well ID"),
        analyte=("Parameter", "Compound", "Parameters"),
        result=("Result", "Results", "Value"),
        unit=("Units", "Unit"),
        flag=("Qualifier", "Flag"),
        limit=(
            ("RDL", "reporting_limit"),
            ("Reporting Detection Limit", "reporting_limit"),
            ("Detection Limit", "detection_limit"),
            ("LOQ", "quantitation_limit"),
        ),
        lower=("MDL",),
        lab=("Laboratory ID", "Lab ID", "Laboratory Sample ID"),
        date=("Sampling Date", "Date Sampled", "Sampled On"),
        depth=("Depth (m)", "Sample Depth (mbgs)"),
        depths=("1-2", "2-3", "0-1", "1-2", "2-3", "4-5"),
        matrix=("Matrix", "Sample Matrix"),
        basis=("Basis", "dry"),
        dates="%Y-%m-%d",
        soils=("BH24-01 SS2", "BH24-02 SS3", "BH24-03 SS1", "TP24-04 S1", "TP24-05 S2", "BH24-06 SS4"),
        waters=("MW24-01", "MW24-02", "MW24-03", "MW24-04", "MW24-05", "MW24-06"),
        names=(
            ("Benzene",),
            ("Toluene",),
            ("Ethylbenzene",),
            ("Xylenes (Total)", "Total Xylenes", "Xylene Mixture (Total)"),
            ("Methyl t-butyl ether (MTBE)", "MTBE", "Methyl tert-butyl ether"),
            ("Naphthalene",),
            ("Gasoline Range Organics", "GRO"),
            ("Lead", "Lead (Pb)", "Total Lead (Pb)"),
        ),
        matrices={"soil": ("Soil",), "groundwater": ("Ground Water", "Groundwater", "Water")},
        titles={
            "soil": ("Soil Quality Results", "Table 1: Soil Analytical Results"),
            "groundwater": ("Groundwater Quality Results", "Table 2: Groundwater Analytical Results"),
        },
        stated=("All results in {unit}", "All values in {unit} unless otherwise indicated", "Units: {words} ({unit})"),
        dry="Soil results are reported on a dry weight basis unless stated otherwise",
        sections=("Volatiles", "Hydrocarbons", "Metals"),
        level=("Guideline", "Criteria", "Standard", "Site Condition Standard"),
        statistics=("Maximum", "Detections"),
        legend=("RDL = reportable detection limit", "'<' = less than the reportable detection limit", "NV = no value"),
    ),
    "Spanish": Dialect(
        sample=("Muestra", "ID de muestra", "Identificación de la muestra", "Código de muestra", "Nombre de la muestra"),
        well=("Pozo", "Pozo de monitoreo"),
        analyte=("Analito", "Parámetro", "Compuesto", "Sustancia"),
        result=("Resultado", "Concentración", "Valor"),
        unit=("Unidades", "Unidad"),
        flag=("Calificador", "Bandera", "Cualificador"),
        limit=(
            ("Límite de reporte", "reporting_limit"),
            ("Límite de cuantificación", "quantitation_limit"),
            ("Límite de detección", "detection_limit"),
            ("LC", "quantitation_limit"),
        ),
        lower=("Límite de detección",),
        lab=("Número de laboratorio", "ID de laboratorio"),
        date=("Fecha de muestreo", "Fecha de toma"),
        depth=("Profundidad (m)",),
        depths=("1-2", "2-3", "0-1", "3-4", "1-2", "2-3"),
        matrix=("Matriz", "Medio"),
        basis=("Base", "Peso seco"),
        dates="%d/%m/%Y",
        soils=("S-1 (1-2 m)", "S-2 (2-3 m)", "S-3 (0-1 m)", "S-4 (3-4 m)", "S-5 (1-2 m)", "S-6 (2-3 m)"),
        waters=("PM-1", "PM-2", "PM-3", "PM-4", "PM-5", "PM-6"),
        names=(
            ("Benceno",),
            ("Tolueno",),
            ("Etilbenceno",),
            ("Xilenos totales", "Xilenos", "Xilenos (total)"),
            ("MTBE", "Metil terc-butil éter (MTBE)", "Metil terbutil éter"),
            ("Naftaleno",),
            ("GRO", "Hidrocarburos rango gasolina (GRO)", "Gasoline Range Organics"),
            ("Plomo", "Plomo total"),
        ),
        matrices={"soil": ("Suelo",), "groundwater": ("Agua subterránea",)},
        titles={
            "soil": ("Resultados analíticos de suelo", "Resultados de análisis de muestras de suelo"),
            "groundwater": ("Resultados analíticos de agua subterránea", "Resultados de muestras de agua subterránea"),
        },
        stated=("Todos los resultados en {unit}", "Resultados expresados en {unit}", "Concentraciones en {unit}"),
        dry="Resultados de suelo expresados en base seca (peso seco)",
        sections=("Compuestos orgánicos volátiles", "Hidrocarburos de petróleo", "Metales"),
        level=("Nivel de acción", "Valor de referencia", "Límite permisible"),
        statistics=("Máximo", "Número de detecciones"),
        legend=(
            "ND = no detectado por encima del límite indicado",
            "J = valor estimado",
            "Los resultados se refieren solo a las muestras",
        ),
    ),
}
UNIT_WORDS = {
    "mg/kg": ("milligrams per kilogram", "miligramos por kilogramo"),
    "ug/kg": ("micrograms per kilogram", "microgramos por kilogramo"),
    "ug/L": ("micrograms per liter", "microgramos por litro"),
    "mg/L": ("milligrams per liter", "miligramos por litro"),
}
