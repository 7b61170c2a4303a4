from zonule.record import OperationRecord
def eye_svg(record: OperationRecord, view: str = "facing") -> str:
    return "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 200 200'><circle cx='100' cy='100' r='80' fill='none' stroke='#222'/></svg>"
def describe_eye(record: OperationRecord, view: str = "facing") -> str:
    return "Eye"
