"""How it is made: cuts, joints, lumber, materials, finish, hours and the dated work plan."""
