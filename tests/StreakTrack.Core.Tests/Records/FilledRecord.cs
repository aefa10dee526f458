using System.Reflection;
using System.Runtime.CompilerServices;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.Tests.Records;

/// <summary>A record in which every member has a value, members that later versions of the types will have included.</summary>
internal static class FilledRecord
{
    public static AnalysisRecord Make() => (AnalysisRecord)Value(typeof(AnalysisRecord)) with { RecordVersion = AnalysisRecord.CurrentVersion };

    private static object Value(Type type)
    {
        if (Nullable.GetUnderlyingType(type) is Type inner)
            return Value(inner);
        if (type == typeof(string))
            return "text";
        if (type == typeof(double))
            return 1.5;
        if (type == typeof(int))
            return 7;
        if (type == typeof(long))
            return 7L;
        if (type == typeof(bool))
            return true;
        if (type.IsEnum)
            return Enum.GetValues(type).GetValue(0)!;
        if (type.IsGenericType && type.GetGenericTypeDefinition() == typeof(IReadOnlyList<>))
        {
            Type item = type.GetGenericArguments()[0];
            var array = Array.CreateInstance(item, 2);
            array.SetValue(Value(item), 0);
            array.SetValue(Value(item), 1);
            return array;
        }

        if (type.IsGenericType && type.GetGenericTypeDefinition() == typeof(IReadOnlyDictionary<,>))
        {
            var dictionary = (System.Collections.IDictionary)Activator.CreateInstance(typeof(Dictionary<,>).MakeGenericType(type.GetGenericArguments()))!;
            dictionary.Add(type.GetGenericArguments()[0] == typeof(string) ? "name_s" : Value(type.GetGenericArguments()[0]), Value(type.GetGenericArguments()[1]));
            return dictionary;
        }

        // Properties are set behind their init accessors, so that types with and without constructor parameters are treated alike.
        object filled = RuntimeHelpers.GetUninitializedObject(type);
        foreach (PropertyInfo property in type.GetProperties(BindingFlags.Public | BindingFlags.Instance).Where(p => p.CanWrite))
            property.SetValue(filled, Value(property.PropertyType));
        return filled;
    }
}
