"""What a build is made of: parts and joints, cutting, passages, shopping."""
