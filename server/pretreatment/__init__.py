"""What happens to the water before the membranes: filters, dechlorination, antiscalant, SDI."""
