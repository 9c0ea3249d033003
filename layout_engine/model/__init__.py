"""What a job is: body, plate, part types, parts, connections, cases; read and written."""
