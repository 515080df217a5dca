/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/station_wire.h"

#include <stdio.h>
#include <string.h>

#include "core/pattern.h"

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

enum { ADDRESSES = 65536 };

/* "holding 10" -> space and address. */
static enum rv_err read_register(const struct rv_yaml_node *node, struct rv_register *reg,
				 struct rv_error *error)
{
	static const char *const spaces[] = {"input", "holding", "discrete", "coil"};
	const char *word;
	char space[16] = "";
	int64_t address = -1;
	enum rv_err err = rv_form_word(node, "a register such as holding 10", &word, error);

	if (err != RV_OK)
		return err;
	size_t len = strcspn(word, " ");
	if (len < sizeof space)
		snprintf(space, sizeof space, "%.*s", (int)len, word);
	size_t found = 0;
	while (found < COUNT(spaces) && strcmp(space, spaces[found]) != 0)
		found++;
	if (found == COUNT(spaces) || word[len] != ' ' ||
	    rv_text_to_int64(word + len + 1, &address) != RV_OK || address < 0 ||
	    address >= ADDRESSES)
		return rv_yaml_refuse(
		    error, node, RV_ERR_SYNTAX, "register",
		    "register is \"%.40s\"; input, holding, discrete or coil and a "
		    "protocol address of 0 to 65535 are needed, such as holding 10",
		    word);
	*reg = (struct rv_register){(enum rv_register_space)found, (int)address, -1};
	return RV_OK;
}

static bool is_word_space(const struct rv_register *reg)
{
	return reg->space == RV_REGISTER_INPUT || reg->space == RV_REGISTER_HOLDING;
}

static int registers_of(enum rv_number_type type)
{
	static const int counts[] = {
	    [RV_INT16] = 1,   [RV_UINT16] = 1, [RV_INT32] = 2,	[RV_UINT32] = 2,
	    [RV_FLOAT32] = 2, [RV_INT64] = 4,  [RV_FLOAT64] = 4};

	return counts[type];
}

static enum rv_err refuse_type(const struct rv_yaml_node *entry, const char *what,
			       const struct rv_station_wire *wire, struct rv_error *error)
{
	const struct rv_yaml_node *type = rv_yaml_get(entry, "type");
	const struct rv_yaml_node *order = rv_yaml_get(entry, "order");

	return rv_yaml_refuse_key(error, type ? type : order, RV_ERR_REFUSED, "key_misplaced",
				  "%s reads one bit%s; type and order are of whole registers", what,
				  wire->bit >= 0 ? " of a register" : "");
}

/* A number in whole registers: its type and, from two registers on, its order must be said. */
static enum rv_err read_number(const struct rv_yaml_node *entry, const char *what,
			       const struct rv_station_wire *wire, struct rv_channel *channel,
			       struct rv_error *error)
{
	if (wire->type < 0)
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_MISSING, "key_missing",
		    "%s lacks \"type\": int16, uint16, int32, uint32, float32, "
		    "int64 or float64",
		    what);
	channel->type = (enum rv_number_type)wire->type;
	int count = registers_of(channel->type);
	if (wire->order < 0 && count > 1)
		return rv_yaml_refuse_key(error, entry, RV_ERR_MISSING, "key_missing",
					  "%s lacks \"order\", the bytes as they are on the wire: "
					  "abcd, badc, cdab or dcba",
					  what);
	channel->order = wire->order < 0 ? RV_ORDER_ABCD : (enum rv_byte_order)wire->order;
	if (channel->source.address + count > ADDRESSES)
		return rv_yaml_refuse(error, wire->source, RV_ERR_RANGE, "register",
				      "%d registers from %d on end beyond address 65535", count,
				      channel->source.address);
	return RV_OK;
}

static enum rv_err read_alive_register(const struct rv_yaml_node *node, int bit,
				       struct rv_channel *channel, struct rv_error *error)
{
	struct rv_register reg;
	enum rv_err err = read_register(node, &reg, error);

	if (err != RV_OK)
		return err;
	if (bit >= 0 && !is_word_space(&reg))
		return rv_yaml_refuse(error, node, RV_ERR_REFUSED, "key_misplaced",
				      "bit is one of an input or holding register");
	reg.bit = bit;
	channel->alive.source = reg;
	return RV_OK;
}

static enum rv_err check_group(const struct rv_yaml_node *node, const struct rv_device *device,
			       const char *field, struct rv_error *error)
{
	if (rv_pattern_has_group(device->pattern, field))
		return RV_OK;
	return rv_yaml_refuse(error, node, RV_ERR_UNKNOWN, "name_unknown",
			      "the line of device \"%s\" has no group (?<%s>...)", device->name,
			      field);
}

struct alive {
	const struct rv_yaml_node *source;
	char field[RV_NAME_SIZE];
	int bit;
	double changes_within_s;
};

static enum rv_err read_alive(const struct rv_yaml_node *node, const struct rv_device *device,
			      struct rv_channel *channel, struct rv_error *error)
{
	static const struct rv_form_key keys[] = {
	    RV_KEY_NODE("register", struct alive, source, false),
	    RV_KEY_TEXT("field", struct alive, field, false),
	    RV_KEY_WHOLE("bit", struct alive, bit, 0.0, 15.0),
	    {.key = "changes_within",
	     .kind = RV_FORM_AMOUNT,
	     .offset = offsetof(struct alive, changes_within_s),
	     .required = true,
	     .measure = RV_MEASURE_TIME,
	     .limit = RV_FORM_WITHIN,
	     .low = 0.001,
	     .high = 3600.0},
	};
	struct alive alive = {.bit = -1};
	bool is_text = device->link == RV_LINK_SERIAL_TEXT;
	enum rv_err err = rv_form_read(node, "alive", keys, COUNT(keys), &alive, error);

	if (err != RV_OK)
		return err;
	if ((is_text ? alive.field[0] != '\0' : alive.source != NULL) == false ||
	    (is_text ? alive.source != NULL : alive.field[0] != '\0'))
		return rv_yaml_refuse(error, node, RV_ERR_MISSING, "key_missing",
				      "alive on a %s device needs \"%s\", and no other place",
				      rv_station_link_name(device->link),
				      is_text ? "field" : "register");
	err = is_text ? check_group(rv_yaml_get(node, "field"), device, alive.field, error)
		      : read_alive_register(alive.source, alive.bit, channel, error);
	if (err != RV_OK)
		return err;
	channel->alive.used = true;
	channel->alive.changes_within_s = alive.changes_within_s;
	memcpy(channel->alive.field, alive.field, sizeof alive.field);
	return RV_OK;
}

static enum rv_err read_good_when(const struct rv_yaml_node *node, const struct rv_device *device,
				  struct rv_channel *channel, struct rv_error *error)
{
	static const struct rv_form_key key = {
	    .key = "good_when", .kind = RV_FORM_TEXT, .size = RV_NAME_SIZE};
	const struct rv_yaml_node *group = node->first;

	if (node->kind != RV_YAML_MAP || node->count != 1)
		return rv_yaml_refuse(error, node, RV_ERR_SYNTAX, "value_kind",
				      "good_when names one group and its good words, such as "
				      "{status: [steady, moving]}");
	enum rv_err err = rv_form_name(group, channel->good_when.field, error);
	if (err == RV_OK)
		err = check_group(group, device, group->key, error);
	if (err != RV_OK)
		return err;
	bool is_list = group->kind == RV_YAML_LIST;
	if (is_list && (group->count < 1 || group->count > RV_WORDS))
		return rv_yaml_refuse(error, group, RV_ERR_RANGE, "too_many",
				      "good_when has %d words; 1 to %d are allowed", group->count,
				      RV_WORDS);
	const struct rv_yaml_node *word = is_list ? group->first : group;
	for (; word; word = is_list ? word->next : NULL) {
		err = rv_form_value(word, &key, channel->good_when.word[channel->good_when.words],
				    error);
		if (err != RV_OK)
			return err;
		channel->good_when.words++;
	}
	return RV_OK;
}

static enum rv_err read_source(const struct rv_yaml_node *entry, const char *what,
			       const struct rv_station_wire *wire, struct rv_channel *channel,
			       struct rv_error *error)
{
	if (!wire->source)
		return rv_yaml_refuse_key(error, entry, RV_ERR_MISSING, "key_missing",
					  "%s lacks \"register\", such as input 0", what);
	enum rv_err err = read_register(wire->source, &channel->source, error);
	if (err != RV_OK)
		return err;
	channel->source.bit = wire->bit;
	if (wire->bit >= 0 && !is_word_space(&channel->source))
		return rv_yaml_refuse_key(error, rv_yaml_get(entry, "bit"), RV_ERR_REFUSED,
					  "key_misplaced",
					  "%s: bit is one of an input or holding register", what);
	bool is_bit = wire->bit >= 0 || !is_word_space(&channel->source);
	if (is_bit && (wire->type >= 0 || wire->order >= 0))
		return refuse_type(entry, what, wire, error);
	if (!is_bit)
		return read_number(entry, what, wire, channel, error);
	channel->type = RV_UINT16;
	return RV_OK;
}

enum rv_err rv_station_wire_read(const struct rv_yaml_node *entry, const char *what,
				 const struct rv_station_wire *wire,
				 const struct rv_station *station, struct rv_channel *channel,
				 struct rv_error *error)
{
	const struct rv_device *device = &station->device[channel->device];
	bool is_text = device->link == RV_LINK_SERIAL_TEXT;
	enum rv_err err = RV_OK;

	if (is_text && channel->field[0] == '\0')
		return rv_yaml_refuse_key(
		    error, entry, RV_ERR_MISSING, "key_missing",
		    "%s lacks \"field\", the group of the line that carries its "
		    "value",
		    what);
	err = is_text ? check_group(rv_yaml_get(entry, "field"), device, channel->field, error)
		      : read_source(entry, what, wire, channel, error);
	if (err == RV_OK && wire->alive)
		err = read_alive(wire->alive, device, channel, error);
	if (err == RV_OK && wire->good_when)
		err = read_good_when(wire->good_when, device, channel, error);
	return err;
}
